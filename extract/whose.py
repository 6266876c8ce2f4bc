"""Whose a finding is that stands behind a part: the part's, its owner's, or another thing's."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from extract.heard import Heard
from extract.part_features import of_some_other, owner_of_feature
from extract.part_names import NamedPart
from extract.predicates import Predicate
from extract.reference import said_of_another
from shared.job_sheet import JobSheet


def whose(
    sheet: JobSheet, heard: Heard, predicate: Predicate, predicates: Sequence[Predicate], part: NamedPart
) -> NamedPart | None:
    """Return whose part's the predicate is where one was named before it; doubtful where another thing is."""
    # "Sleeve's scored, shroud's cracked".
    other = owner_of_feature(sheet, heard, predicate, part)
    if other is not None:
        return other
    another = said_of_another(heard, predicate, predicates, part)
    if another and predicate.key == "good":
        # "Impeller's worn, weather's good".
        return None
    if another or of_some_other(heard, predicate, part):
        return replace(part, doubt=part.doubt or part.parts)
    return part
