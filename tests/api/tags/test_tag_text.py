"""What stands in our QR codes, and what is none of them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from api.tags.qr_drawing import qr_svg
from api.tags.tag_text import MOST_CHARACTERS, read_tag, tag_text
from shared.errors import TagForeign

LINES = st.text(min_size=1, max_size=40).map(lambda text: " ".join(text.split())).filter(bool)


@given(LINES, st.none() | LINES)
def test_a_tag_says_what_was_written_whatever_it_is(order: str, pump: str | None) -> None:
    tag = read_tag(tag_text("job", wo=order, tag=pump))
    assert (tag.kind, tag.fields["wo"], tag.get("tag")) == ("job", order, pump)


def test_the_format_is_plain() -> None:
    text = tag_text("job", wo="44/17 A", tag="P-101", sheet="wash-water-end-suction")
    assert text == "WM1/job/wo=44%2F17%20A/tag=P-101/sheet=wash-water-end-suction"


def test_fields_of_a_later_reader_are_passed_over() -> None:
    assert read_tag("WM1/job/colour=red/wo=12").fields["wo"] == "12"


@pytest.mark.parametrize(
    "text",
    ["", "4417", "https://example.org/WM1/job", "WM", "WMx/job/wo=1", "WM1", "WM1/job", "WM1/job/wo=",
     "WM1/job/wo=%20", "WM1/badge/wo=1", "WM1/unknown/x=1", "WM1/job/wo=" + "1" * MOST_CHARACTERS],
)  # fmt: skip
def test_a_foreign_code_is_named_as_such(text: str) -> None:
    with pytest.raises(TagForeign, match="none of this shop's") as refused:
        read_tag(text)
    assert len(str(refused.value)) < 250


def test_a_tag_of_a_later_version_is_no_foreign_one() -> None:
    with pytest.raises(TagForeign, match="version 2"):
        read_tag("WM2/job/wo=1")


def test_a_code_is_drawn_with_its_quiet_zone_and_no_script() -> None:
    svg = qr_svg("WM1/job/wo=1")
    assert svg.startswith("<svg")
    assert "script" not in svg
