"""Whether an utterance is talk of the job: by what it gave, by what it names, by the engine's score.

The engine's score compares the job's language model with the general one; where that says chatter,
job words in the text prove little, because the job's model turns any noise into job words. Such an
utterance files nothing; if it holds a whole reading, that is asked about, never dropped in silence.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal, NamedTuple

from extract.corrections import runs_of
from extract.everyday_words import is_everyday_thing
from extract.heard import Heard
from extract.numbers import is_number_word
from extract.quantity_arcs import Quantity
from extract.reading_drafts import ReadingDraft

Standing = Literal["job", "doubtful", "chatter"]

_OWN = frozenset({"my", "your", "his", "her", "our", "their"})
#: Units (as said) that only bench talk has.
_SHOP_UNITS = frozenset({"thou", "tenths", "um", "N_m", "ft_lb", "in_lb", "psi", "mm_s", "rpm"})
#: So far below the threshold an utterance with a whole reading still becomes a question.
DOUBTFUL_BAND = 0.3
_IMPLAUSIBLE = "not plausible for this item"


@dataclass(frozen=True)
class Gathered:
    """What an utterance gave, as far as it tells job talk from chatter."""

    entries: int
    """Entries, commands, header fields."""
    said_readings: int
    """Readings whose item, or whose place of the item talked about, was named in these words."""
    about_item: bool
    shop_units: bool = False
    """Whether a number that made no reading has a unit of the bench."""


class Judged(NamedTuple):
    """How an utterance is taken, and why."""

    standing: Standing
    why: str


def judge_talk(heard: Heard, gathered: Gathered, job_score_least: float) -> Judged:
    """Tell how an utterance is to be taken."""
    score = heard.utterance.job_score
    if score is not None and score < job_score_least:
        close = score >= job_score_least - DOUBTFUL_BAND
        if close and (gathered.said_readings or gathered.entries):
            return Judged("doubtful", "sounds like talk beside the job to the ear, yet reads as job talk")
        return Judged("chatter", "sounds like talk beside the job to the ear")
    private = heard.mentions.cues("private") or _of_somebodys_own(heard)
    if private and not gathered.said_readings and not _names_a_thing(heard):
        # "Did you see the footy, they got flogged": what happened to "them" is no finding.
        return Judged("chatter", "private talk that names nothing of the bench")
    if gathered.entries:
        return Judged("job", "it gives entries, a command or a field of the job")
    if gathered.about_item:
        return Judged("job", "it names what is measured, or goes on with it")
    if gathered.shop_units:
        return Judged("job", "a number has a unit that only the bench uses")
    if names_job(heard):
        return Judged("job", "it names a part, step or limit of the sheet")
    if _puts_place_right(heard):
        return Judged("job", "it puts right what was said of a place")
    return Judged("chatter", "it names nothing of the job and gives no entry")


def _of_somebodys_own(heard: Heard) -> bool:
    """Whether a thing of life beside the job is named as somebody's: "my umbrella's bent"."""
    words = [token.norm for token in heard.tokens]
    own = [i for i, word in enumerate(words) if word in _OWN]
    return any(is_everyday_thing(word) for i in own for word in words[i + 1 : i + 3])


def _puts_place_right(heard: Heard) -> bool:
    """Whether the words put something right at a place that they name ("correction on vane two it's …").

    Beside a number of their own it must be said to go back there ("go back to vane two that was …"): else
    that number is asked about as talk that nobody understood.
    """
    places = [m for m in heard.mentions.of("position") if m.cost < 1 and m.end - m.start > 1]
    within = {at for place in places for at in range(place.start, place.end)}
    numbers = any(is_number_word(token) for at, token in enumerate(heard.tokens) if at not in within)
    rights = [run for run in runs_of(heard) if run.corrects and not run.weak]
    return bool(places) and any(run.goes_back or not numbers for run in rights)


def _names_a_thing(heard: Heard) -> bool:
    """Whether anything of the bench is named, a command or a consumable too."""
    kinds = ("part", "other_part", "item", "position", "consumable", "step", "command", "photo")
    if heard.mentions.cues("skipped", "declared"):
        return True
    return any(m.cost < 1 for m in heard.mentions.of(*kinds))


def may_be_meant(draft: ReadingDraft) -> bool:
    """Whether a reading in doubtful talk is one to ask about: its item said, or its place of the open item.

    A bare number alone is none: the job's language model makes bench words of any noise.
    """
    if "item said" in draft.rule:
        return True
    goes_on = (
        "item carried on" in draft.rule or "item of an earlier" in draft.rule or draft.corrects is not None
    )
    placed = "position named" in draft.rule or "positions named together" in draft.rule
    return goes_on and (placed or draft.corrects is not None) and _IMPLAUSIBLE not in draft.reasons


def names_job(heard: Heard) -> bool:
    """Whether the words name something of the job: a part or item of the sheet, a step, a limit."""
    for mention in heard.mentions.all:
        if mention.repairs:
            continue
        if mention.kind in ("part", "item", "step", "photo") and mention.cost < 1:
            return True
        if mention.kind == "other_part" and len(mention.form.split()) > 1:
            return True
        if mention.kind == "cue" and mention.key == "limit_after" and heard.barred:
            return True
    return any(
        barred.reason == "a limit recited" and barred.quantity.unit is not None for barred in heard.barred
    )


def has_shop_unit(quantities: Iterable[Quantity]) -> bool:
    """Whether a number has a unit that nobody uses but at a bench."""
    return any(
        q.number.scale == "thousandths" or (q.unit is not None and q.unit.said in _SHOP_UNITS)
        for q in quantities
    )
