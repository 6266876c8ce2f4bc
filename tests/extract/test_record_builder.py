"""From words to entries through the public door, on a shipped sheet and one-line sheets of our own."""

from __future__ import annotations

from extract.record_builder import RecordBuilder
from shared.record import ReadingEntry
from shared.speech import Utterance


def heard(lines: list[str]) -> RecordBuilder:
    builder = RecordBuilder("wash-water-end-suction")
    for n, line in enumerate(lines):
        builder.hear(Utterance(line, 4.0 * n, 4.0 * n + 3.0))
    return builder


def standing(lines: list[str]) -> dict[tuple[str, str | None], tuple[str | None, bool]]:
    """(item, position) -> (exact value, needs review) of every reading that stands."""
    readings: list[ReadingEntry] = heard(lines).record().readings
    return {(r.item, r.position): (r.value_exact, r.needs_review) for r in readings if r.standing}


def test_an_item_named_once_holds_for_the_vanes_that_follow() -> None:
    got = standing(["front clearance vane one eighteen thou", "two nineteen", "three seventeen and a half"])
    assert got[("front_clearance", "1")] == ("0.018", False)
    assert got[("front_clearance", "2")] == ("0.019", False)
    assert got[("front_clearance", "3")][0] in ("0.0175", None)


def test_a_swallowed_article_never_makes_half_of_one_and_a_half() -> None:
    got = standing(
        ["runout at the seal one thou at the impeller thou and a half and coupling end is half a thou"]
    )
    assert got[("shaft_runout", "seal_area")] == ("0.001", False)
    assert got.get(("shaft_runout", "impeller_end"), (None, True))[0] != "0.0005"


def test_a_misheard_now_does_not_correct_another_item() -> None:
    got = standing(["front clearance vane five is twenty five thou", "shim pack is no thirty nine"])
    assert got[("front_clearance", "5")] == ("0.025", False)


def test_go_back_to_a_vane_corrects_it_and_keeps_what_was_said() -> None:
    builder = heard(["front clearance one nineteen two eighteen", "go back to vane two that was nineteen"])
    two = [r for r in builder.record().readings if r.position == "2"]
    assert [(r.value_exact, r.superseded_why) for r in two] == [("0.018", "corrected"), ("0.019", None)]


def test_nothing_is_filed_between_pause_and_resume_and_its_words_stand_nowhere() -> None:
    builder = heard(
        [
            "pause the recording",
            "front clearance vane one ninety nine thou",
            "resume recording",
            "turns freely no rub",
        ]
    )
    record = builder.record()
    assert record.readings == []
    assert "ninety nine" not in record.to_json()
    assert [e.event for e in record.events] == ["pause", "resume"]


def test_the_record_is_the_same_whenever_it_is_asked_for() -> None:
    builder = heard(["new seal going in", "impeller bolt seventy foot pounds"])
    assert builder.record().to_json() == builder.record().to_json()
