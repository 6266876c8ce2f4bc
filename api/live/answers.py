"""What the bench answers to an utterance: a pair of tones, and a few words to be read out."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Literal

from pydantic import BaseModel

from api.live.board import Asked, Board, Line

Tone = Literal["taken", "ask", "out"]


class Answer(BaseModel):
    """Answered once, right after the utterance."""

    tone: Tone | None
    say: str
    """Empty for nothing."""


def answer_to(changed: Sequence[Line], asked: Sequence[Asked], board: Board) -> Answer:
    """Return what is answered to an utterance.

    Args:
        changed: lines that are new or changed by it.
        asked: questions that it raised.
        board: as it stands after it.
    """
    if asked:
        return Answer(tone="ask", say=_question(asked[-1]))
    if any(line.mark == "outside" for line in changed):
        return Answer(tone="out", say=_read_back(changed))
    standing = [line for line in changed if line.mark != "gone"]
    return Answer(tone="taken" if standing else None, say=_read_back(standing))


def what_is_left(board: Board) -> str:
    """Return in words what the sheet wants and nobody said."""
    if not board.left:
        return "nothing is left"
    named = [text.partition(": ")[2] for text in board.left[:5]]
    more = f", and {len(board.left) - 5} more" if len(board.left) > 5 else ""
    return f"left: {', '.join(named)}{more}"


def _question(asked: Asked) -> str:
    """Return a question short enough to be answered with the hands full."""
    if 2 <= len(asked.choices) <= 3 and asked.choices != ["yes", "no"]:
        return f"{' or '.join(asked.choices)}?"
    return asked.text


def _read_back(lines: Sequence[Line]) -> str:
    """Return readings read back, at most three: what is longer nobody listens to."""
    read = [
        f"{line.what.rpartition(', ')[2]}, {line.value}, {line.word.lower()}"
        for line in lines
        if line.kind == "reading"
    ]
    return ". ".join(read[:3]) + (f". And {len(read) - 3} more" if len(read) > 3 else "")
