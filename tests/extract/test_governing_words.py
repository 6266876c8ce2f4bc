"""A reading is sure only where the words around its value are understood and say nothing against it."""

# ruff: noqa: E501
from __future__ import annotations

import pytest

from extract.governing_words import plain_words
from tests.extract.bench_jobs import FRESH, labels_of_last

END = "wash-water-end-suction"
SPLIT = "wash-water-split-case"
STAGES = "booster-multistage"

#: What it shows; sheet; utterances before; words; labels.
CASES: list[tuple[str, str, list[str], str, set[str]]] = [
    ("plain words change nothing", END, [], "okay lads end play i'm getting dead on two thou", {"end_play#as_left=0.002"}),
    ("a tool that was read", END, [], "end play with the indicator on the coupling end two thou", {"end_play#as_left=0.002"}),
    ("a word nobody knows", END, [], "end play allegedly two thou", {"?end_play"}),
    ("a word nobody knows behind it", END, [], "end play two thou wednesday", {"?end_play"}),
    ("the way bolts are tightened", END, [], "impeller bolt seventy foot pounds go crosswise", {"impeller_bolt_torque#as_left=70"}),
    ("today", END, [], "impeller bolt done this morning at seventy foot pounds", {"impeller_bolt_torque#as_left=70"}),
    ("before a meal", SPLIT, [], "coupling gap three mil before lunch", {"coupling_gap#as_left=3"}),
    ("after a break", END, [], "after smoko end play two thou", {"end_play#as_left=0.002"}),
    ("what was this morning", END, [], "this morning end play was two thou", {"?end_play"}),
    ("what will be in the morning", END, [], "end play two thou in the morning", {"?end_play"}),
    ("what is each morning", END, [], "every morning end play two thou", {"?end_play"}),
    ("another day", END, [], "yesterday morning end play two thou", {"?end_play"}),
    ("a thing that helped", STAGES, [], "total lift with the torch on three point two", {"total_lift#as_left=3.2"}),
    ("a thing before its name", END, [], "mallet end play two thou", {"?end_play"}),
    ("a thing with a value", END, [], "end play mallet two thou", {"?end_play"}),
    ("a noun that may be a part", END, [], "end play on the bucket two thou", {"?end_play"}),
    ("somebody far off", END, [], "end play on the phone two thou", {"?end_play"}),
    ("mess, and measured again", END, [], "wait there was dirt on the micrometer end play two thou", {"end_play#as_left=0.002"}),
    ("mess that was cleaned off", STAGES, [], "i wiped it there was swarf on it total lift three point two", {"total_lift#as_left=3.2"}),
    ("mess still there", END, [], "end play with dirt on the indicator two thou", {"?end_play"}),
    ("mess that may spoil it", END, [], "end play two thou mud behind", {"?end_play"}),
    ("what turned about", END, [], "end play reversed two thou", {"?end_play"}),
    ("what was only hoped", END, [], "end play i was hoping for two thou", {"?end_play"}),
    ("what was tempting", STAGES, [], "total lift tempted to leave it at three point two", {"?total_lift"}),
    ("what was nearly forgotten", END, [], "forgot to say end play two thou", {"end_play#as_left=0.002"}),
    ("told as a rule", END, [], "end play five thou is where they start to complain", {"?end_play"}),
    ("told as a rule of others", STAGES, [], "total lift three point two is what people like", {"?total_lift"}),
    ("told of this job", END, [], "end play two thou is what we got", {"end_play#as_left=0.002"}),
    ("told of where it came to rest", END, [], "end play two thou is where it ended up", {"end_play#as_left=0.002"}),
    ("a bare number of something else", END, ["end play two thou"], "i'll be there in thirty", {"?end_play"}),
    ("minutes that somebody asks for", END, ["end play two thou"], "give me three", {"?end_play"}),
    ("a man who comes back", STAGES, ["total lift three point two"], "dave's back in three", set()),
    ("a bare number behind its name", END, ["end play"], "three", {"end_play#as_left=0.003"}),
    ("a bare number that is all", END, ["end play two thou", "let me see"], "it's three", {"end_play#as_left=0.003"}),
    ("a bare number with its unit", END, ["end play two thou"], "we came to three thou", {"end_play#as_left=0.003"}),
    ("a bare number put right", END, ["end play two thou"], "no three", {"fix end_play#as_left=0.003"}),
    ("a time of before", END, [], "yesterday end play was two thou", {"?end_play"}),
    ("a pump by its number", END, [], "on pump fourteen end play was two thou", {"?end_play"}),
    ("half of what was read", STAGES, ["total lift three point two"], "so half of that one point six", {"?total_lift"}),
    ("what it came down from", END, ["front clearance vane one as found thirty one"],
     "front clearance vane one is down to eighteen from thirty one", {"front_clearance@1#as_left=0.018"}),
    ("so much down from so much", END, [], "end play two thou down from nine", {"end_play#as_left=0.002"}),
    ("an arrow from one to another is no range", END, [], "end play went from nine thou to two thou", {"end_play#as_left=0.002"}),
    ("the torques on the way", END, [], "impeller bolt forty then seventy foot pounds",
     {"impeller_bolt_torque#as_left=70"}),
    ("a difference with its item", END, [], "end play two thou too much", {"?end_play"}),
    ("a denial before the value", END, [], "i couldn't get end play two thou", {"?end_play"}),
    ("so much and something", STAGES, [], "stack height four hundred and two millimetres and something", {"?stack_height"}),
    ("near enough behind a comma", END, [], "end play two thou, near enough", {"?end_play"}),
    ("where it trips", SPLIT, [], "bearing temperature drive end forty one trips at eighty", {"bearing_temperature@drive_end#as_left=41"}),
    ("a time printed with a point", SPLIT, [], "Casing test pressure, drained at 6.40 this morning.", set()),
    ("before anything was touched", STAGES, [], "rotor float before anything point three", set()),
    ("a place that the item talked about does not have", str(FRESH / "fifth-foundry-quench.yaml"),
     ["cover bolts thirty foot pounds"], "scratch that rear is twenty one", {"?cover_bolt_torque"}),
    ("a mil in millimetres", SPLIT, [], "coupling gap thirty mil", {"?coupling_gap"}),
    ("what ran like this before", SPLIT, [], "vibration drive end two point one it was only four before",
     {"?vibration", "?vibration@drive_end"}),
]  # fmt: skip


@pytest.mark.parametrize(("shows", "sheet", "before", "words", "wanted"), CASES, ids=[c[0] for c in CASES])
def test_words_around_a_value(
    shows: str, sheet: str, before: list[str], words: str, wanted: set[str]
) -> None:
    assert labels_of_last(sheet, [*before, words]) == wanted, shows


def test_a_word_that_compares_or_dates_is_never_plain() -> None:
    telling = {
        "yesterday",
        "last",
        "earlier",
        "than",
        "over",
        "under",
        "half",
        "double",
        "usually",
        "apparently",
    }
    assert not telling & plain_words()
