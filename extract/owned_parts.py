"""Parts that belong to another named before them and are none by themselves."""

from __future__ import annotations

from collections.abc import Sequence

from extract.heard import Heard
from extract.part_names import NamedPart

#: Unlisted parts that are features of a listed one.
_OF_A_BEARING = ("cage", "bearing_cage", "inner_race", "inner_ring", "outer_race", "outer_ring")
_OF_AN_IMPELLER = ("shroud", "back_shroud", "front_shroud", "rear_shroud", "hub_shroud")
_OWNER_OF = dict.fromkeys(_OF_A_BEARING, "bearing") | dict.fromkeys(_OF_AN_IMPELLER, "impeller")


def without_owned(heard: Heard, parts: Sequence[NamedPart]) -> list[NamedPart]:
    """Drop an unlisted part that belongs to the one before ("poppet's seat"): it only says where."""
    kept: list[NamedPart] = []
    for part in parts:
        owner = kept[-1] if kept else None
        if (
            owner is not None
            and part.unlisted
            and not owner.unlisted
            and heard.norms(owner.end, part.start) == ["'s"]
        ):
            continue
        kept.append(part)
    return [part for n, part in enumerate(kept) if not _told_by_owner(heard, part, kept[n + 1 : n + 2])]


def _told_by_owner(heard: Heard, part: NamedPart, behind: Sequence[NamedPart]) -> bool:
    """Whether a feature's owner is named behind it ("outer race of the drive end bearing")."""
    owner = _OWNER_OF.get(part.parts[0]) if part.unlisted else None
    if owner is None or not behind or behind[0].unlisted:
        return False
    joined = heard.norms(part.end, behind[0].start) in (["of"], ["of", "the"], ["on"], ["on", "the"])
    return joined and any({owner, f"{owner}s"} & set(name.split("_")) for name in behind[0].parts)


def without_features(parts: Sequence[NamedPart], focus: tuple[str, ...]) -> list[NamedPart]:
    """Drop "the cage", "inner race" where the bearing that has them is talked about."""
    kept: list[NamedPart] = []
    named = list(focus)
    for part in parts:
        owner = _OWNER_OF.get(part.parts[0]) if part.unlisted else None
        if owner is None or not any({owner, f"{owner}s"} & set(name.split("_")) for name in named):
            kept.append(part)
            named += part.parts
    return kept
