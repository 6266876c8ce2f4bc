"""Buttons and keys of the bench's screen: what each means, and a journal of those pressed.

A press has the same effect as the words that stand for it. It is on disk before it acts, with the place in
the talk where it came in, so that the recording heard anew comes to the same record.
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from pathlib import Path
from typing import Literal, get_args

from capture.journal import Journal, JournalEntry
from extract.answering import PRESSED
from shared.errors import JournalDamaged
from shared.speech import Utterance

PRESS_JOURNAL = "presses.journal"
Order = Literal["pause", "resume", "left", "read_back", "strike", "restore", "answer"]
ORDERS: tuple[Order, ...] = get_args(Order)
#: What each is heard as; an answer brings its own words.
_WORDS: dict[Order, str] = {
    "pause": "pause recording", "resume": "resume recording", "left": "what's left", "read_back": "read back",
    "strike": "strike the last one", "restore": "undo the strike",
}  # fmt: skip
#: What the press of each choice of a question is heard as, in the order in which they are offered, and of its
#: Yes and No.
CHOICE_WORDS = ("the first choice", "the second choice", "the third choice", "the fourth choice")
YES, NO = "yes", "no"
REPLY_WORDS = (*CHOICE_WORDS, YES, NO)
_PRESS = 1
_LONGEST, _LONGEST_ID = 1000, 60


@dataclass(frozen=True)
class Press:
    """One button or key."""

    order: Order
    about: str = ""
    """Id of the entry that it is about: the one to be struck, or the question's."""
    words: str = ""
    """Of an answer."""
    by: str = ""
    """Who was signed in."""
    after: int = 0
    """So many pieces of speech were heard before it."""
    at_s: float = 0.0
    """So much of the recording, seconds."""

    def utterance(self, recording: str) -> Utterance:
        """Return what it is heard as."""
        words = self.words if self.order == "answer" else _WORDS[self.order]
        return Utterance(words, self.at_s, self.at_s, engine=PRESSED, recording=recording)


def presses_in(path: Path) -> list[Press]:
    """Return the presses of a recording that is over, as far as its journal can be read."""
    journal = PressJournal(path)
    journal.close()
    return journal.presses


class PressJournal:
    """The presses of one recording, in order.

    Args:
        path: of the journal; begun where it is not there.
    """

    def __init__(self, path: Path) -> None:
        self.presses: list[Press] = []
        try:
            if path.exists():
                self._journal, _ = Journal.open_and_read(path, self._take)
                return
        except JournalDamaged:
            # Kept beside it; the sound, the words and the job's chain of events are elsewhere.
            path.replace(path.with_name(f"{path.name}.damaged"))
            self.presses.clear()
        self._journal = Journal.create(path, {"journal": "presses/1"})

    def append(self, press: Press) -> None:
        """Write a press; it is on disk when this returns.

        Raises:
            JournalFull: the disk took no more.
        """
        self._journal.append(_PRESS, json.dumps(asdict(press), ensure_ascii=False).encode())
        self._journal.sync()
        self.presses.append(press)

    def close(self) -> None:
        """Close; the recording may still be gone on with."""
        self._journal.abandon()

    def _take(self, entry: JournalEntry) -> None:
        if entry.kind == _PRESS:
            self.presses.append(Press(**json.loads(entry.payload)))


def press_from(text: str) -> Press | None:
    """Read a press as a browser sends it; None for anything else.

    Args:
        text: JSON: ``{"type": "press", "order": …, "about": …, "words": …}``.
    """
    try:
        given = json.loads(text[:_LONGEST])
    except ValueError:
        return None
    if (
        not isinstance(given, dict)
        or given.get("type") != "press"
        or not isinstance(given.get("order"), str)
        or given["order"] not in ORDERS
    ):
        return None
    about, words = given.get("about", ""), given.get("words", "")
    if given["order"] == "answer" and not (about and words in REPLY_WORDS):
        return None
    return Press(given["order"], str(about)[:_LONGEST_ID], words if given["order"] == "answer" else "")


@dataclass(frozen=True)
class Said:
    """What a builder hears: spoken, or pressed about an entry."""

    utterance: Utterance
    about: str = ""
    """Id of the entry whose question a press answers; empty otherwise."""


def said_in_order(
    heard: Sequence[Utterance | None], presses: Sequence[Press], recording: str
) -> Iterator[Said]:
    """Yield what was spoken and pressed in one recording, in the order in which it came in.

    Args:
        heard: by piece of speech, as far as it may be kept; None where nothing was heard.
        presses: of the recording, in order.
        recording: its name.
    """
    waiting = list(presses)
    for number, utterance in enumerate([*heard, None]):
        while waiting and (waiting[0].after <= number or number == len(heard)):
            yield said_by(waiting.pop(0), recording)
        if utterance is not None:
            yield Said(utterance)


def said_by(press: Press, recording: str) -> Said:
    """Return what a press is heard as."""
    return Said(press.utterance(recording), press.about if press.order == "answer" else "")
