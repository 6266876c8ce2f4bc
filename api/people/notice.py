"""The notice that whoever is recorded reads before: the shop's own, or the one that comes with us.

A notice is known by the hash of its text as it is shown. Where it or a period in it changes, it is another
notice, and everybody is asked again.
"""

from __future__ import annotations

from dataclasses import dataclass
from hashlib import sha256
from importlib.resources import files
from pathlib import Path

from shared.errors import SettingError
from shared.settings import Settings

#: A shop's own notice, in its data folder: plain text, an empty line between paragraphs.
FILE = "notice.txt"
_MOST_BYTES = 100_000


@dataclass(frozen=True)
class Notice:
    """A notice as it is shown."""

    text: str

    @property
    def sha256(self) -> str:
        """What it is known by."""
        return sha256(self.text.encode()).hexdigest()

    @property
    def paragraphs(self) -> list[str]:
        """Its paragraphs, plain text."""
        return [part for part in self.text.split("\n\n") if part]


def present_notice(folder: Path, settings: Settings) -> Notice:
    """Return the notice that is shown now.

    Args:
        folder: data folder of the shop; its own notice goes before ours.
        settings: of the shop; how long sound is kept stands in the notice.

    Raises:
        SettingError: the shop's own notice is empty, too long or no UTF-8.
    """
    own = folder / FILE
    template = _own(own) if own.exists() else files("api.people").joinpath(FILE).read_text("utf-8")
    # Not str.format: a shop's own text may hold any brace.
    text = template.replace("{sound}", _sound_kept(settings)).replace("{chatter}", _chatter_kept(settings))
    return Notice("\n\n".join(" ".join(part.split()) for part in text.split("\n\n") if part.strip()))


def _own(path: Path) -> str:
    try:
        data = path.read_bytes()
        text = data.decode("utf-8")
    except (OSError, UnicodeDecodeError) as exc:
        raise SettingError("the notice cannot be read", where=str(path), expected="UTF-8 text") from exc
    if not text.strip() or len(data) > _MOST_BYTES:
        raise SettingError(
            f"a notice of {len(data)} bytes", where=str(path), expected=f"some text, at most {_MOST_BYTES}"
        )
    return text.replace("\r\n", "\n")


def _sound_kept(settings: Settings) -> str:
    days = settings.sound_kept_days
    if days is None:
        return "The sound is kept with the record."
    if days == 0:
        return "The sound is erased once the record is signed."
    return f"The sound is erased {days} {'day' if days == 1 else 'days'} after the record is signed."


def _chatter_kept(settings: Settings) -> str:
    if settings.chatter_sound_kept:
        return "Their sound is kept as long as the rest."
    return "Their sound is silenced once the record is signed."
