"""What is said for a step of a sheet: its own words with a verb or an object, the trade's for such a step."""

from __future__ import annotations

from collections.abc import Iterator

from shared.lexicon import load_lexicon
from shared.sheet_entries import Step, words_of

_REMOVED = frozenset({"removed", "out", "off"})
_FITTED = frozenset({"fitted", "refitted", "installed"})
_PREPOSITIONS = frozenset({"of", "on", "in", "by", "to", "with", "under", "at"})
#: How the trade says that something was taken off or put on (common practice, no source).
_TAKEN_OFF = (
    "{n} taken out|{n} taken off|{n} are taken out|{n} is taken out|{n} have been taken out|{n} i took out",
    "{n} i have taken out|{n} i have removed|{n} i removed",
    "removed the {n}|removed all the {n}|took the {n} out|took the {n} off|took out the {n}|pulled the {n}",
    "took off the {n}|pulled the {n} out|i have removed the {n}|i have taken out the {n}",
)
_PUT_ON = (
    "{n} is fitted|{n} are fitted|{n} back on|{n} is back on|{n} are back on|{n} bolted on|fitted the {n}",
    "refitted the {n}|put the {n} back on|put the {n} on|{n} i have fitted",
    "{n} in place|{n} is in place|{n} are in place",
)


def step_wordings(step: Step) -> Iterator[tuple[str, float]]:
    """Yield (what is said for a step, what it costs beside the sheet's own words)."""
    for form in (*step.spoken, words_of(step.step)):
        yield form, 0.0
        for said in (*_with_verb(form), *_with_object(form)):
            yield said, 0.1
    for wording in _usual_wordings(step):
        for said in (wording, *_with_object(wording)):
            yield said, 0.3
    for said in dict.fromkeys(_moved(step)):
        yield said, 0.3


def _moved(step: Step) -> Iterator[str]:
    """Yield "took the clips out" for "clips removed", "put the guard back on" for "guard fitted"."""
    for form in (*step.spoken, words_of(step.step)):
        *noun, last = form.split()
        if not noun or len(noun) > 2 or not _PREPOSITIONS.isdisjoint(noun) or noun[-1] in ("is", "are"):
            continue
        wordings = _TAKEN_OFF if last in _REMOVED else _PUT_ON if last in _FITTED else ()
        for wording in "|".join(wordings).split("|") if wordings else ():
            yield wording.format(n=" ".join(noun))


def _usual_wordings(step: Step) -> Iterator[str]:
    """Yield what the trade says for a step of such a name and wording, whatever the sheet calls it."""
    words = frozenset(word for form in (*step.spoken, words_of(step.step)) for word in form.split())
    for usual in load_lexicon().steps:
        if usual.fits(words):
            yield from usual.say


def _with_object(form: str) -> Iterator[str]:
    """Yield "washed it down", "flushed the pump out" for "washed down", "flushed out"."""
    words = form.split()
    if len(words) == 2 and words[0].endswith("ed") and words[1] in ("down", "out", "through", "off", "up"):
        for what in ("it", "her", "him", "them", "the pump", "the unit", "everything", "the lot"):
            yield f"{words[0]} {what} {words[1]}"


def _with_verb(form: str) -> Iterator[str]:
    """Yield "faces are wiped clean" and "the faces were all wiped clean" for "faces wiped clean"."""
    words = form.split()
    if len(words) < 2 or words[0] in ("the", "all"):
        return
    for verb in (
        "is",
        "are",
        "was",
        "were",
        "have been",
        "has been",
        "is all",
        "are all",
        "are both",
        "is now",
        "are now",
        "all",
        "got",
    ):
        yield " ".join([words[0], verb, *words[1:]])
        if len(words) > 2:
            yield " ".join([*words[:2], verb, *words[2:]])
    for filler in ("the", "all the", "both", "both the"):
        yield " ".join([words[0], filler, *words[1:]])
