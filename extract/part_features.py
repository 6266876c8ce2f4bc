"""Features that only some parts have, and whose they are: "vanes look good" with the key talked about."""

from __future__ import annotations

from dataclasses import replace

from extract.heard import Heard
from extract.part_names import NamedPart
from extract.predicates import Predicate
from shared.job_sheet import JobSheet

#: Features that only some parts have, and words in the names of those.
OWNERS = {
    "vane": ("impeller", "wheel", "rotor"),
    "vanes": ("impeller", "wheel", "rotor"),
    "shroud": ("impeller", "wheel", "rotor"),
    "eye": ("impeller", "wheel"),
    "tooth": ("gear", "pinion", "sprocket"),
    "teeth": ("gear", "pinion", "sprocket"),
    "splines": ("shaft",),
    "keyway": ("shaft", "impeller", "wheel", "hub", "coupling", "gear", "pulley", "sleeve", "rotor"),
    "races": ("bearing",),
    "race": ("bearing",),
    "cage": ("bearing",),
    "rollers": ("bearing",),
    "balls": ("bearing",),
}
_PLACING = frozenset({"in", "on", "at", "of", "under", "into", "with", "from", "to", "by"})


def owner_of_feature(
    sheet: JobSheet, heard: Heard, predicate: Predicate, found: NamedPart | None
) -> NamedPart | None:
    """Return the part that has the feature named ("vanes look good" with the key talked about)."""
    clause = predicate.clause
    features = [word for word in heard.norms(clause.start, predicate.start) if word in OWNERS]
    if found is None and not features and predicate.kind == "condition":
        # "A hairline in the shroud", "a crack at the root of vane three".
        behind = heard.norms(predicate.end, max(predicate.end + 4, min(clause.end, predicate.end + 7)))
        features = [word for word in behind if word in OWNERS]
    # "A crack in the seat, vane two's chipped": what is named last before the word has it.
    named = max(_subjects(heard, found, clause.start, predicate.start), default=-1)
    if not features or (found is not None and found.end > max(clause.start, named)):
        return None
    owners = OWNERS[features[-1]]
    if found is not None and any(word in name for name in found.parts for word in owners):
        # "Impeller and wear plate are worn, vanes chipped".
        own = tuple(name for name in found.parts if any(word in name for word in owners))
        return replace(found, parts=own) if len(own) < len(found.parts) else None
    fitting = [name for name in sheet.part_names if name.split("_")[-1].removesuffix("s") in owners]
    return NamedPart((fitting[0],), 0, 0) if len(fitting) == 1 else None


def _subjects(heard: Heard, found: NamedPart | None, start: int, end: int) -> list[int]:
    """Return the tokens that name features, but for where something is ("tight in the keyway").

    A feature that stands right behind a part with nothing said of it yet is its own ("crown wheel teeth").
    """
    features = [n for n in range(start, end) if heard.tokens[n].norm in OWNERS]
    said = [m.end for m in heard.mentions.of("condition", "action")]
    after = 0 if found is None else found.end
    # "A crack in the seat, vane two's chipped": of what stands behind "in" something was said already.
    placed = found is not None and not _PLACING.isdisjoint(heard.norms(found.start - 2, found.start))
    told = [n for n in features if placed or not after or after > n or any(after < at <= n for at in said)]
    return [n for n in told if _PLACING.isdisjoint(heard.norms(n - 2, n))]


def of_some_other(heard: Heard, predicate: Predicate, found: NamedPart) -> bool:
    """Whether a feature that a part cannot have is named behind it ("the key's fine, keyway's cracked")."""
    at = _subjects(heard, found, max(predicate.clause.start, found.end), predicate.start)
    named = [heard.tokens[n].norm for n in at]
    owned = named and any(name.split("_")[-1].removesuffix("s") in OWNERS[named[-1]] for name in found.parts)
    return bool(named) and not owned


def of_others(sheet: JobSheet, heard: Heard, predicate: Predicate, found: NamedPart) -> bool:
    """Whether a feature is named that the part talked about cannot have and others do ("keyway's fine")."""
    clause = predicate.clause
    features = [word for word in heard.norms(clause.start, predicate.start) if word in OWNERS]
    if not features or found.end or found.unlisted:
        return False
    owners = OWNERS[features[-1]]
    if any(word in name for name in found.parts for word in owners):
        return False
    return any(name.split("_")[-1].removesuffix("s") in owners for name in sheet.part_names)
