"""Parts told apart by what they belong to: "bearings on the pinion", "o ring on the cap nut"."""

from __future__ import annotations

from extract.heard import Heard
from extract.mentions import Mention
from shared.job_sheet import JobSheet

#: Small words before a part's name.
DETERMINERS = frozenset(
    {
        "the",
        "a",
        "an",
        "this",
        "that",
        "these",
        "those",
        "my",
        "our",
        "its",
        "his",
        "old",
        "new",
        "other",
        "one",
    }
)


def owned_by(heard: Heard, mention: Mention) -> str | None:
    """Return the one part that the words behind a tail tell apart ("bearings on the pinion")."""
    if heard.norms(mention.end, mention.end + 1) not in (["on"], ["of"], ["for"], ["in"], ["at"]):
        return None
    behind = [m for m in heard.mentions.of("part") if mention.end < m.start <= mention.end + 3]
    if behind and len(behind[0].keys) == 1:
        # "O ring on the cap nut", whatever the sheet calls that nut.
        own = [key for key in mention.keys if key.startswith(f"{behind[0].key}_")]
        if len(own) == 1:
            return own[0]
    owner = [word for word in heard.norms(mention.end + 1, mention.end + 5) if word not in DETERMINERS]
    fitting = [key for key in mention.keys if owner and owner[0] in key.split("_")[:-1]]
    return fitting[0] if len(fitting) == 1 else None


def of_owner(sheet: JobSheet, heard: Heard, mention: Mention) -> str | None:
    """Return the part of like name that belongs to the one behind ("o rings on the seal")."""
    if heard.norms(mention.end, mention.end + 1) not in (["on"], ["of"], ["for"]):
        return None
    owner = [word for word in heard.norms(mention.end + 1, mention.end + 4) if word not in DETERMINERS]
    own = mention.key.split("_")
    if not owner or owner[0] in own:
        return None
    like = [
        name
        for name in sheet.part_names
        if owner[0] in name.split("_")[:-1] and name != mention.key and name.split("_")[-1] == own[-1]
    ]
    return like[0] if len(like) == 1 else None
