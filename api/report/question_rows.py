"""Questions as the report shows them: each with what may be ticked."""

from __future__ import annotations

from collections.abc import Sequence

from api.report.view import QuestionView
from api.report.wording import candidate_words, decimals_of, heard_at
from shared.job_sheet import JobSheet
from shared.record import Candidate, Question, RebuildRecord

_YES_OR_NO = ["yes", "no"]


def question_row(record: RebuildRecord, sheet: JobSheet, question: Question) -> QuestionView:
    """Return a question with its choices and the words that it stands on."""
    return QuestionView(question.text, _choices(record, sheet, question), heard_at(record, question.evidence))


def _choices(record: RebuildRecord, sheet: JobSheet, question: Question) -> list[str]:
    """Return what may be ticked: what the question offers, or yes and no where it offers one thing."""
    asked = next((r for r in record.readings if r.id == question.about), None)
    if asked is None:
        return [candidate_words(sheet, c) for c in question.candidates]
    decimals = decimals_of(sheet.measured.get(asked.item))
    candidates = list(question.candidates)
    values = {c.value_exact for c in candidates if c.value_exact is not None}
    if asked.value_exact is not None and values and asked.value_exact not in values:
        # What leads may be ticked even where the entry names only its rivals.
        leading = Candidate(value=asked.value, value_exact=asked.value_exact, unit=asked.unit)
        candidates = [leading, *candidates]
    offered = _in_doubt(candidates)
    if not offered:
        return list(_YES_OR_NO) if asked.value_exact or candidates else []
    return list(dict.fromkeys(candidate_words(sheet, c, decimals) for c in offered))


def _in_doubt(candidates: Sequence[Candidate]) -> list[Candidate]:
    """Return the candidates that are not the only one of their kind.

    A value alone among two places is in no doubt. A place beside a candidate without anything in it is:
    it was heard without that place, too. Candidates that name several things are each of their own kind.
    """
    kinds = [frozenset(c.model_dump(exclude_none=True)) for c in candidates]
    together = any("value_exact" in kind and kind & {"item", "position"} for kind in kinds)
    unnamed = frozenset() in kinds
    return [
        candidate
        for candidate, kind in zip(candidates, kinds, strict=True)
        if together or not kind or kinds.count(kind) > 1 or (unnamed and "position" in kind)
    ]
