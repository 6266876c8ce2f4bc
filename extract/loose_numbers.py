"""Numbers heard that made no reading, kept so that a reviewer sees what was left."""

from __future__ import annotations

from extract.corrections import Run
from extract.heard import Heard
from extract.quantity_arcs import Quantity, longest_quantity
from extract.reading_drafts import LooseNumber, ReadingTalk


def loose_number(heard: Heard, quantity: Quantity, reason: str) -> LooseNumber:
    """Return a number with the reason why it made no reading."""
    unit = quantity.unit
    value = quantity.value
    name = None
    if unit is not None and unit.unit is not None and value is not None:
        value, name = value * unit.factor, unit.unit
    return LooseNumber(
        heard.words(quantity.start, quantity.end), value, name, reason, quantity, quantity.start, quantity.end
    )


def counts_only(heard: Heard, quantity: Quantity) -> bool:
    """Whether a number is a pronoun or a count of things, of no interest to a reviewer."""
    if quantity.unit is not None:
        return False
    if quantity.number.style in ("fraction", "article"):
        return True
    return quantity.start in heard.counted or heard.norms(quantity.start, quantity.end) == ["one"]


def barred_loose(heard: Heard) -> list[LooseNumber]:
    """Return the recited, asked and supposed numbers of an utterance, counts left out."""
    return [
        loose_number(heard, barred.quantity, barred.reason)
        for barred in heard.barred
        if not counts_only(heard, barred.quantity)
    ]


def leave_unread(heard: Heard, run: Run, talk: ReadingTalk) -> None:
    """Leave the numbers of a run unread."""
    at = run.start
    while at < run.end:
        quantity = longest_quantity(heard.tokens, at)
        if quantity is not None and not counts_only(heard, quantity):
            talk.loose.append(
                loose_number(heard, quantity, "puts right what belongs to no item of the sheet")
            )
        at = quantity.end if quantity is not None else at + 1
