"""The trained recogniser: what it finds, what it may add to the rules, and what it may not."""

from __future__ import annotations

import pytest

import extract.learnt_talk
from bench.recogniser import Line, entries_of, lines_of, records
from bench.recogniser_examples import TrainingText, marked_line, marked_lines, word_lists, words_of_text
from bench.train_recogniser import HELD_OUT, held_out_words
from extract.everyday_words import is_everyday, is_everyday_thing
from extract.recogniser import KNOWN_WORDS, LABELS, MODEL, Recogniser, recogniser
from extract.record_builder import RecordBuilder
from shared.record import ConditionEntry, Entry, NoteEntry, PartEntry
from shared.speech import Utterance
from tests.extract.bench_jobs import DATA, FRESH, jobs_in, read_talk, sheet_of

SHEET = "wash-water-end-suction"
SCORED = ("held_out.txt", "held_out_other_hand.txt")


def shown(entry: Entry) -> str:
    if isinstance(entry, ConditionEntry):
        return f"{'~' if entry.unlisted else ''}{entry.part}:{entry.condition}"
    if isinstance(entry, PartEntry):
        return f"{'~' if entry.unlisted else ''}{entry.part}:{entry.action}"
    return entry.reason or "" if isinstance(entry, NoteEntry) else entry.id


# -- held-out words --------------------------------------------------------------------------------


def test_no_held_out_word_is_learnt_from() -> None:
    said = {word for phrases in word_lists().values() for phrase in phrases for word in words_of_text(phrase)}
    said |= {word for line in marked_lines("lines.txt") for word in marked_line(line).words}
    said |= set((MODEL / KNOWN_WORDS).read_text("utf-8").split())
    assert not held_out_words() & said


def test_all_that_is_scored_is_held_out() -> None:
    assert set(SCORED) < set(HELD_OUT)


@pytest.mark.parametrize("name", SCORED)
def test_few_held_out_spans_have_come_into_the_lexicon(name: str) -> None:
    """What has is scored no more; where much has, new lines must be written."""
    written = sum(len(marked_line(line).spans) for line in marked_lines(name))
    assert sum(len(line.example.spans) for line in lines_of(name)) >= 0.8 * written


def test_a_line_with_a_held_out_word_is_no_example(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(TrainingText, "_natural_pieces", lambda self: [])
    examples = TrainingText(frozenset({"snubber"})).examples(1)
    assert examples
    assert not any("snubber" in example.words for example in examples)
    assert TrainingText(frozenset({"snubber"})).examples(1) == examples


# -- spans -----------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "least"), [(SCORED[0], (0.55, 0.6, 0.7, 0.35)), (SCORED[1], (0.55, 0.5, 0.55, 0.15))]
)
def test_held_out_spans_are_found(name: str, least: tuple[float, ...]) -> None:
    """At least a little less than was measured for PART, CONDITION, ACTION, MEASURE."""
    found: dict[str, list[bool]] = {label: [] for label in LABELS}
    for line in lines_of(name):
        got = {(s.label, s.start, s.end) for s in recogniser().find(line.example.words)}
        for span in line.example.spans:
            found[span[0]].append(span in got)
    rates = {label: sum(hits) / len(hits) for label, hits in found.items()}
    assert all(rate >= floor for rate, floor in zip(rates.values(), least, strict=True)), rates


def test_it_finds_the_same_every_time() -> None:
    words = ("the", "pintle", "is", "banjaxed")
    assert Recogniser().find(words) == Recogniser().find(words) == recogniser().find(words)


@pytest.mark.parametrize("words", [(), ("",), ("\ud800",), ("thou",) * 3000])
def test_any_words_are_taken(words: tuple[str, ...]) -> None:
    spans = recogniser().find(words)
    assert all(0 <= span.start < span.end <= len(words) for span in spans)


def test_everyday_words_are_told_from_the_trades() -> None:
    assert is_everyday("the")
    assert not is_everyday("clevis")
    assert not is_everyday("\ud800")


@pytest.mark.parametrize("word", ["quiche", "puppies", "dishes", "calves", "trousers", "peaches"])
def test_things_of_life_beside_the_job_are_told_from_parts(word: str) -> None:
    assert is_everyday_thing(word)


def test_no_part_of_a_machine_is_such_a_thing() -> None:
    assert not is_everyday_thing("vanes")
    phrases = word_lists()
    parts = {word for form in ("parts", "plural_parts") for name in phrases[form] for word in name.split()}
    assert [word for word in parts if is_everyday_thing(word)] == []


# -- what it adds ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("words", "entry"),
    [
        ("the impeller is good but the pintle is cracked", "~pintle:cracked"),
        ("shaft's fine and the occluder is swollen", "~occluder:swollen"),
        ("the lantern ring is banjaxed", "lantern ring, 'banjaxed': what condition"),
        ("shaft sleeve is puckered", "shaft sleeve, 'puckered': what condition"),
        ("we rescued the wear ring", "wear ring, 'rescued': what was done"),
        ("the pintle is cracked", "~pintle:cracked"),
        ("the rotor has been superseded", "rotor, 'superseded': what was done"),
    ],
)
def test_what_no_list_has_is_kept_and_asked(words: str, entry: str) -> None:
    entries = [e for e in entries_of(words, learnt=True) if shown(e) == entry]
    assert len(entries) == 1
    assert entries[0].needs_review
    assert entries[0].evidence.rule.startswith("recogniser: ")
    assert entry not in [shown(e) for e in entries_of(words, learnt=False)]


@pytest.mark.parametrize(
    "words",
    [
        "the impeller is good and the pintle is not cracked",
        "the impeller is good is the pintle cracked",
        "impeller's good if the pintle is cracked i'll change it",
        "the lantern ring will get banjaxed if you drop it",
        "the last pump had a banjaxed lantern ring",
        "the impeller is as rusty as old nails",
        "packed the outboard bearing with swinge grease",
        "the quiche is mushy",
        "the quiche is cracked",
        "my pintle is cracked",
        "the pintle at home is cracked",
    ],
)
def test_what_is_denied_asked_supposed_or_of_others_is_left(words: str) -> None:
    assert not [e for e in entries_of(words, learnt=True) if e.evidence.rule.startswith("recogniser")]


def test_a_finding_beside_a_strange_part_is_no_sure_finding_of_the_part_before() -> None:
    for words in ("cracked obturator", "there's pitting on the clapper", "the obturator has a chip out"):
        sure = [e for e in entries_of(words, learnt=False) if not e.needs_review]
        asked = entries_of(words, learnt=True)
        assert [shown(e) for e in sure] == [shown(e) for e in asked]
        assert all(e.needs_review for e in asked)
        assert {"impeller"} < {c.part for e in asked for c in e.candidates}


@pytest.mark.parametrize("words", ["my suitcase fell off and it's bent", "her old bike is seized"])
def test_what_is_of_somebodys_own_is_chatter(words: str) -> None:
    assert entries_of(words, learnt=True) == []
    assert entries_of("my reading's thirty five and it's bent", learnt=True) != []


def test_a_strange_part_is_talk_of_the_job_only_in_its_midst() -> None:
    builder = RecordBuilder(SHEET)
    for n in range(4):
        builder.hear(Utterance("the pintle is cracked", n * 4.0, n * 4.0 + 3.0))
    assert builder.record().conditions == []
    assert builder.talk_of(3) == "chatter"


def test_what_follows_is_of_the_strange_part() -> None:
    builder = RecordBuilder(SHEET)
    lines = ["impeller's off and it's good", "shaft's good but the pintle is cracked", "and it's bent"]
    for n, words in enumerate(lines):
        builder.hear(Utterance(words, n * 4.0, n * 4.0 + 3.0))
    said = [shown(e) for e in builder.record().conditions]
    assert said == ["impeller:good", "shaft:good", "~pintle:cracked", "~pintle:bent"]


# -- what it may not do ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    "line", [line for name in SCORED for line in lines_of(name) if line.chatter], ids=lambda line: line.text
)
def test_it_makes_no_entry_of_chatter(line: Line) -> None:
    added = [e for e in entries_of(line.text, learnt=True) if e.evidence.rule.startswith("recogniser")]
    assert added == []


@pytest.mark.parametrize("name", ["conveyor-gearbox", "dust-fan"])
def test_the_rules_stay_the_masters(name: str) -> None:
    """Everything that the rules read is there with it too; what comes besides is asked about."""
    alone, both = RecordBuilder(sheet_of(name), learnt=False), RecordBuilder(sheet_of(name))
    for n, (words, _) in enumerate(read_talk(name)):
        for builder in (alone, both):
            builder.hear(Utterance(words, n * 4.0, n * 4.0 + 3.0))
    ruled = [(shown(e), e.evidence.utterance) for e in entries(alone)]
    kept = [(shown(e), e.evidence.utterance) for e in entries(both) if not learnt(e)]
    assert kept == ruled
    assert all(e.needs_review for e in entries(both) if learnt(e))
    assert alone.record().readings == both.record().readings


def entries(builder: RecordBuilder) -> list[Entry]:
    record = builder.record()
    return [*record.conditions, *record.parts, *record.notes]


def learnt(entry: Entry) -> bool:
    return entry.evidence.rule.startswith("recogniser")


def test_it_is_asked_seldom(monkeypatch: pytest.MonkeyPatch) -> None:
    """On one utterance in ten at most, or reading would get slow."""
    asked = []
    find = recogniser().find
    monkeypatch.setattr(
        extract.learnt_talk,
        "recogniser",
        lambda: type("Spy", (), {"find": lambda _, w: asked.append(w) or find(w)})(),
    )
    said = 0
    for name in (*jobs_in(DATA), *jobs_in(FRESH))[:6]:
        builder = RecordBuilder(sheet_of(name))
        for n, (words, _) in enumerate(read_talk(name)):
            builder.hear(Utterance(words, n * 4.0, n * 4.0 + 3.0))
            said += 1
    assert 0 < len(asked) <= said / 10


@pytest.mark.parametrize(("name", "least"), [(SCORED[0], 30), (SCORED[1], 45)])
def test_it_adds_to_the_rules(name: str, least: int) -> None:
    """Of every label some; in all a little fewer than were measured, of about as many spans as lines."""
    job_lines = [line for line in lines_of(name) if not line.chatter]
    alone, both = (records(job_lines, learnt=learnt) for learnt in (False, True))
    added = {label: count_of(both, label) - count_of(alone, label) for label in LABELS}
    assert sum(added.values()) >= least
    assert all(more > 0 for more in added.values())
    assert count_of(both, "another part, sure") < count_of(alone, "another part, sure") / 2


def count_of(figures: dict[str, str], of: str) -> int:
    return int(figures[of].split()[0])
