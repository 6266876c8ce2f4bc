"""How a recording ended: whole, or cut with what was saved."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from capture.file_end import FileEnd

#: A header may count an encoder's padding; less than this is no loss.
_PADDING_S = 0.1


@dataclass(frozen=True, slots=True)
class SoundTail:
    """The end of a recording, known once it has been read."""

    state: Literal["whole", "cut"]
    saved_s: float
    """Seconds of sound that were read, filled-in silence included."""
    stated_s: float | None = None
    """Seconds that the file says it holds; None where it does not say."""
    said: str = ""
    """What tells that it was cut, in one line."""
    sure: bool = True
    """False where the format has no end mark and no length, so that a cut could have gone unseen."""

    def __str__(self) -> str:
        if self.state == "whole":
            return f"whole, {self.saved_s:.1f} s"
        stated = f" of {self.stated_s:.1f} s" if self.stated_s is not None else ""
        return f"cut off: {self.saved_s:.1f} s{stated} saved; {self.said}"


def judge_tail(saved_s: float, stated_s: float | None, end: FileEnd, complaint: str) -> SoundTail:
    """Weigh what the file's structure, its header and the decoder say about its end.

    Args:
        saved_s: seconds decoded.
        stated_s: seconds that the header states, if it does.
        end: what the container's structure says.
        complaint: what the decoder said after the last sound that it gave; empty for nothing.
    """
    said = "" if end.complete is not False else end.said
    short = stated_s is not None and saved_s < stated_s - _PADDING_S
    if short and stated_s is not None:
        said = said or f"it stops {stated_s - saved_s:.1f} s before the length in its header"
    if complaint:
        said = f"{said} ({complaint})" if said else f"the decoder said: {complaint}"
    if said:
        return SoundTail("cut", saved_s, stated_s, said)
    return SoundTail("whole", saved_s, stated_s, sure=end.complete is True or stated_s is not None)
