"""What is said of parts, from words and print to conditions and part actions on shipped sheets."""

from __future__ import annotations

import copy
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.speech import Utterance

END_SUCTION, SPLIT_CASE, MULTISTAGE = "wash-water-end-suction", "wash-water-split-case", "booster-multistage"
SHEETS = {"end-suction": END_SUCTION, "split-case": SPLIT_CASE, "multistage": MULTISTAGE}


def _rows() -> Iterator[tuple[str, str, str, str]]:
    """Yield (sheet, words, print, what it gives) of ``data/part_talk.tsv``."""
    table = Path(__file__).with_name("data") / "part_talk.tsv"
    for line in table.read_text("utf-8").splitlines():
        if not line.startswith("#"):
            sheet, words, printed, wanted = line.split("\t")
            yield SHEETS[sheet], words, printed, wanted


@cache
def _pristine(sheet: str) -> RecordBuilder:
    return RecordBuilder(load_job_sheet(sheet))


def said(sheet: str, *lines: str) -> set[str]:
    """What the last line gives: part:condition or part:action, ? where asked about, ~ off the sheet, *n."""
    pristine = _pristine(sheet)
    shared = ("sheet", "_pipeline", "_readings")
    builder = copy.deepcopy(pristine, {id(vars(pristine)[name]): vars(pristine)[name] for name in shared})
    for n, line in enumerate(lines):
        builder.hear(Utterance(line, 5.0 * n, 5.0 * n + 3.0))
    record, last = builder.record(), len(lines) - 1
    got = set()
    for entry in [*record.conditions, *record.parts]:
        if entry.evidence.utterance != last:
            continue
        mark = "~" if entry.unlisted else "?" if entry.needs_review else ""
        told = getattr(entry, "condition", None) or getattr(entry, "action", None)
        count = getattr(entry, "quantity", None)
        got.add(f"{mark}{entry.part}:{told}" + (f"*{count}" if count else ""))
    return got


@pytest.mark.parametrize(
    ("sheet", "words", "printed", "wanted"),
    list(_rows()),
)
def test_parts_are_read_alike_from_words_and_print(sheet: str, words: str, printed: str, wanted: str) -> None:
    assert said(sheet, words) == set(wanted.split())
    assert said(sheet, printed) == set(wanted.split())


@pytest.mark.parametrize(
    ("lines", "wanted"),
    [
        (["sleeve's grooved", "so that's going in the bin"], "shaft_sleeve:scrapped"),
        (["carbon's chipped", "so is the seat"], "stationary_seat:chipped"),
        (["inboard bearing's pitted", "outboard likewise"], "outboard_bearing:pitted"),
        (
            ["bearings are off", "renewed the pair of them"],
            "inboard_bearing:renewed outboard_bearing:renewed",
        ),
        (["bearings are off", "both rough and the inboard's spalled"], "inboard_bearing:pitted"),
        (["seal's out", "the new one's in"], "seal:renewed"),
        (["impeller's off", "i'd say that's cracked"], "?impeller:cracked"),
    ],
)
def test_what_is_left_out_is_the_part_talked_about(lines: list[str], wanted: str) -> None:
    assert said(END_SUCTION, *lines) == set(wanted.split())


def test_bolts_of_several_assemblies_are_asked_about() -> None:
    assert said(MULTISTAGE, "the bolts are new") == {"?coupling_bolts:renewed"}


def test_shims_taken_out_are_no_count_of_shims() -> None:
    builder = RecordBuilder(END_SUCTION)
    builder.hear(Utterance("took one shim out and binned it", 0.0, 3.0))
    assert builder.record().readings == []


@pytest.mark.parametrize(
    "line",
    [
        "swapped shifts with dave",
        "Swapped shifts with Dave.",
        "in the bin by the door there's some rags",
        "stay where you are",
        "pinched my finger on the cover",
    ],
)
def test_talk_of_something_else_says_nothing_of_the_part_before(line: str) -> None:
    assert said(END_SUCTION, "shaft is out on the bench", line) == set()


def test_the_same_carries_a_finding_on_but_never_a_renewal() -> None:
    assert said(END_SUCTION, "inboard bearing's pitted", "outboard one's the same") == {
        "outboard_bearing:pitted"
    }
    assert said(END_SUCTION, "new inboard bearing's in", "outboard one's the same") == set()


def test_both_takes_in_the_twin_of_the_part_talked_about() -> None:
    both = {"inboard_bearing:pitted", "outboard_bearing:pitted"}
    assert said(END_SUCTION, "new inboard bearing's in", "both were pitted") == both


@pytest.mark.parametrize(
    ("words", "known_by"),
    [
        ("new seal is in, lot number four four one seven", "lot 4417"),
        ("new seal is in, batch number a seven seven two", "lot A772"),
        ("the seal is renewed, serial number five five zero", "550"),
        ("new seal is in, serial number five five zero, lot number one two", "550"),
        ("new seal is in, that was the last of the lot", None),
        ("the seal is reused, lot number four four one seven", None),
    ],
)
def test_a_new_part_is_known_by_its_serial_or_lot_number(words: str, known_by: str | None) -> None:
    builder = RecordBuilder(load_job_sheet(END_SUCTION))
    builder.hear(Utterance(words, 0.0, 4.0))
    (part,) = builder.record().parts
    assert (part.part, part.serial) == ("seal", known_by)
    assert builder.record().readings == []
