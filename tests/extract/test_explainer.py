"""Any words can be explained, the explanation tells what decided, and looking on changes nothing."""

from __future__ import annotations

import json
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from extract.explainer import Explainer
from extract.explanation import Explanation
from extract.record_builder import RecordBuilder
from fixtures.narration_files import REBUILDS, read_narration
from shared.job_sheet import load_job_sheet
from shared.speech import Utterance
from tests.extract.test_any_words import any_words

SHEET = load_job_sheet("wash-water-end-suction")


def explained(*lines: str, **said: object) -> Explanation:
    """The explanation of the last line."""
    explainer = Explainer(SHEET)
    builder = RecordBuilder(SHEET, observer=explainer)
    for n, line in enumerate(lines):
        builder.hear(Utterance(line, 5.0 * n, 5.0 * n + 3, **said))  # type: ignore[arg-type]
    return explainer.finish(builder.record())[-1]


def test_the_path_from_words_to_a_reading_is_told() -> None:
    shown = explained("front clearance vane two thirty one thou")
    assert shown.talk == "job"
    assert {(n.words, n.kind, n.names) for n in shown.named} >= {
        ("front clearance", "measured", ("front clearance",)),
        ("vane two", "place", ("2",)),
    }
    assert ("thirty one thou", "31", "thou") in {(a.words, a.value, a.unit) for a in shown.amounts}
    worth = [w for w in shown.worth if w.item == "front_clearance" and w.words == "thirty one thou"]
    assert [(w.value, w.how, w.plausible, w.range) for w in worth] == [
        ("0.031", "unit said: thou", True, "0 to 0.12 in")
    ]
    taken = [way for way in shown.ways if way.taken]
    assert [(link.item, link.position, link.value) for way in taken for link in way.links] == [
        ("front_clearance", "2", "0.031")
    ]
    assert all(way.cost >= taken[0].cost for way in shown.ways)
    reading = next(o for o in shown.outcomes if o.kind == "reading")
    assert (reading.status, reading.rule) == ("filed", "reading: item said; position named; unit said: thou")
    assert [o.rule for o in shown.outcomes if o.kind == "deviation"] == [
        f"deviation: outside the limits of the sheet; {reading.rule}"
    ]


def test_a_placing_that_the_range_refuses_is_told_as_refused() -> None:
    shown = explained("front clearance vane two thirty one")
    worth = {(w.value, w.plausible) for w in shown.worth if w.words == "thirty one"}
    assert worth >= {("0.031", True), ("31", False), ("3.1", False)}


def test_a_doubt_is_told_with_its_rule_and_question() -> None:
    shown = explained("end play allegedly two thou")
    assert ("end play", "words beside the value that nobody understands") in {
        (doubt.about, doubt.rule) for doubt in shown.doubts
    }
    asked = shown.outcomes[0]
    assert (asked.status, bool(asked.reason), bool(asked.question)) == ("asked", True, True)


@pytest.mark.parametrize(
    ("line", "what", "why"),
    [
        ("the last pump had an end play of five thou", "five thou", "of another machine or time"),
        ("i will renew the gasket", "renew (casing gasket)", "yet to be done"),
        ("the carbon is not cracked", "cracked (rotating face)", "denied"),
        ("if the carbon was cracked i would say so", "cracked (rotating face)", "only supposed"),
        ("limit on end play is five thou", "five thou", "a limit recited"),
    ],
)
def test_what_is_left_out_has_its_reason(line: str, what: str, why: str) -> None:
    shown = explained(line)
    assert (what, why) in {(left.what, left.why) for left in shown.left_out}
    assert not [o for o in shown.outcomes if o.status != "replaced"]


def test_a_mended_word_is_told_with_its_mending() -> None:
    shown = explained("front clearance vein two thirty one thou")
    assert "mended: vein for vane" in "; ".join(named.found_by for named in shown.named)


def test_chatter_pause_and_command_are_told_apart() -> None:
    assert explained("grab a sandwich and a coffee").talk == "chatter"
    paused = explained("pause recording", "end play two thou")
    assert (paused.talk, paused.named, paused.outcomes) == ("paused", [], [])
    command = explained("pause recording")
    assert (command.talk, [o.kind for o in command.outcomes]) == ("command", ["command"])


def test_what_is_replaced_is_told_on_both_lines() -> None:
    explainer = Explainer(SHEET)
    builder = RecordBuilder(SHEET, observer=explainer)
    builder.hear(Utterance("end play two thou", 0, 2))
    builder.hear(Utterance("no, make that three thou", 5, 7))
    first, second = explainer.finish(builder.record())
    assert [(o.id, o.status, o.replaced_by) for o in first.outcomes if o.kind == "reading"] == [
        ("r1", "filed", "r2")
    ]
    assert {(o.id, o.status) for o in second.outcomes} == {("r2", "filed"), ("r1", "replaced")}


def test_only_the_lines_asked_for_are_explained() -> None:
    explainer = Explainer(SHEET, {1})
    builder = RecordBuilder(SHEET, observer=explainer)
    for line in ("end play two thou", "seal setting one inch", "turns freely"):
        builder.hear(Utterance(line, 0, 1))
    assert [e.words for e in explainer.finish(builder.record())] == ["seal setting one inch"]


@pytest.mark.parametrize("name", REBUILDS)
def test_looking_on_changes_nothing_and_every_entry_is_explained(name: str) -> None:
    sheet = load_job_sheet(name)
    explainer = Explainer(sheet)
    watched, alone = RecordBuilder(sheet, observer=explainer), RecordBuilder(sheet)
    for n, line in enumerate(read_narration(name)):
        said = Utterance(line.text, 5.0 * n, 5.0 * n + 3)
        watched.hear(said)
        alone.hear(said)
    record = watched.record()
    assert record.to_json() == alone.record().to_json()
    told = {outcome.id: outcome for e in explainer.finish(record) for outcome in e.outcomes if outcome.id}
    kinds = {
        "reading": record.readings, "condition": record.conditions, "part action": record.parts,
        "consumable": record.consumables, "step": record.steps, "note": record.notes,
        "deviation": record.deviations, "command": record.events,
    }  # fmt: skip
    for kind, entries in kinds.items():
        for entry in entries:
            assert entry.evidence.rule.startswith(kind)
            assert told[entry.id].rule in (entry.evidence.rule, "")
            assert len(entry.evidence.rule) > len(f"{kind}: ")


EXPLAINER = Explainer(SHEET)
#: Hears one text after the other; to build one for each takes longer than to read it.
BUILDER = RecordBuilder(SHEET, observer=EXPLAINER)


@settings(max_examples=100, deadline=None)
@given(st.text(max_size=120))
def test_any_text_is_explained(text: str) -> None:
    BUILDER.hear(Utterance(text, 0.0, 1.0))
    shown = EXPLAINER.explained[-1]
    assert json.loads(json.dumps(shown.to_data()))["words"] == text


@pytest.mark.parametrize("seed", range(3))
def test_any_stretch_of_talk_is_explained_and_read_as_without(seed: int) -> None:
    rng = random.Random(seed)
    name = REBUILDS[seed % len(REBUILDS)]
    sheet = load_job_sheet(name)
    lines = [line.text for line in read_narration(name)]
    explainer = Explainer(sheet)
    watched, alone = RecordBuilder(sheet, observer=explainer), RecordBuilder(sheet)
    for n in range(30):
        others = (any_words(rng, lines),) if rng.random() < 0.3 else ()
        score = rng.choice([None, 0.3, -0.2])
        said = Utterance(
            any_words(rng, lines), 5.0 * n, 5.0 * n + 4, rng.random(), alternatives=others, job_score=score
        )
        watched.hear(said)
        alone.hear(said)
    assert watched.record().to_json() == alone.record().to_json()
    shown = explainer.finish(watched.record())
    assert [e.utterance for e in shown] == list(range(30))
    assert all(o.rule for e in shown for o in e.outcomes)


@pytest.mark.parametrize("text", ["", " ", "9" * 400 + " thou end play", "\ud800\x00\u202e½", "one " * 900])
def test_bad_input_is_explained(text: str) -> None:
    assert explained(text).words == text


def test_a_number_asked_about_in_doubtful_talk_is_told_as_such() -> None:
    shown = explained("vane three i slide a thirty one no a thirteen")
    assert [o.status for o in shown.outcomes] == ["asked"]
    assert shown.why.endswith("a number of it may be meant, so that is asked")


def test_what_is_asked_shows_its_candidates_and_is_not_left_out_too() -> None:
    shown = explained("vane three i slide a thirty one no a thirteen")
    assert [o.text for o in shown.outcomes] == ["front clearance, vane three, as left: 0.013 in?"]
    assert [left.what for left in shown.left_out] == ["thirty one"]


def test_a_question_between_two_values_shows_both() -> None:
    shown = explained("front clearance vane one eighteen two nineteen", "vane one and two are swapped")
    texts = [o.text for o in shown.outcomes if o.status == "asked"]
    assert texts == [f"front clearance, vane {n}, as left: 0.018 in or 0.019 in?" for n in ("one", "two")]
