"""What stands in the QR codes of the shop: a plain format of our own, with its version.

    WM1/KIND/FIELD=VALUE/FIELD=VALUE…

``WM1`` is format and version. KIND and FIELD are lower-case words, VALUE is UTF-8 with everything but
letters, digits, ``-``, ``.``, ``_`` and ``~`` percent-encoded (RFC 3986, section 2.1). Fields may come in any
order; those that a reader does not know are passed over. Kinds and their fields (in brackets: not needed):

    job     wo (work order), [tag] (of the pump at its plant), [sheet] (id of the job sheet)
    badge   t (token that signs its bearer in)
    gauge   id (in the shop's register of gauges)
    part    lot or sn (lot or serial number of a new part), [part] (as job sheets name it)

Anything else is a foreign code, and said to be one: nothing is guessed out of another system's tag.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from urllib.parse import quote, unquote

from shared.errors import TagForeign

PREFIX = "WM"
VERSION = 1
#: Longer codes are none of ours; the smallest squares of a printed tag would be too small, too.
MOST_CHARACTERS = 600
_NEEDED: Mapping[str, tuple[str, ...]] = {
    "job": ("wo",),
    "badge": ("t",),
    "gauge": ("id",),
    "part": (),
}
#: So much of a foreign code is shown.
_SHOWN = 60


@dataclass(frozen=True)
class Tag:
    """A code of ours that was read."""

    kind: str
    """One of the kinds above."""
    fields: Mapping[str, str]

    def get(self, name: str) -> str | None:
        """Return a field, or None where the tag has none."""
        return self.fields.get(name)


def tag_text(kind: str, **fields: str | None) -> str:
    """Return the text of a tag; fields that are None are left out."""
    written = [f"{name}={quote(value, safe='')}" for name, value in fields.items() if value is not None]
    return "/".join((f"{PREFIX}{VERSION}", kind, *written))


def read_tag(text: str) -> Tag:
    """Read the text of a QR code.

    Raises:
        TagForeign: it is none of this shop's, or of a later version of the format.
    """
    head, _, rest = text.strip().partition("/")
    kind, *written = rest.split("/")
    if len(text) > MOST_CHARACTERS or not head.startswith(PREFIX) or not head[len(PREFIX) :].isdecimal():
        raise _foreign(text)
    if int(head[len(PREFIX) :]) != VERSION:
        raise TagForeign(
            f"this tag is of version {head[len(PREFIX):]} of the format", expected=f"version {VERSION}",
            remedy="print it again here",
        )  # fmt: skip
    fields = {
        name: value
        for name, _, raw in (one.partition("=") for one in written)
        if (value := " ".join(unquote(raw).split()))
    }
    if any(name not in fields for name in _NEEDED.get(kind, ("",))):
        raise _foreign(text)
    return Tag(kind, fields)


def _foreign(text: str) -> TagForeign:
    shown = " ".join(text.split())
    shown = shown if len(shown) <= _SHOWN else f"{shown[:_SHOWN]}…"
    return TagForeign(
        f"this code is none of this shop's: “{shown}”", expected="a tag or badge printed here",
        remedy="say or type the work order",
    )  # fmt: skip
