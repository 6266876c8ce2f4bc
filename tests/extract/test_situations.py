"""Single situations of parts, labelled before they were read: as good as when these figures were written."""

from __future__ import annotations

import pytest

from tests.extract.bench_situations import score_situations

#: Exact utterances in words and in print, and the least precision of conditions and part actions.
REACHED = {
    "utterances-parts-4": (79, 79, 0.97),
}


@pytest.mark.parametrize("name", REACHED)
def test_situations_give_at_least_what_they_gave(name: str) -> None:
    words, printed, precision = REACHED[name]
    for form, least in ((False, words), (True, printed)):
        score = score_situations(name, printed=form)
        assert score.exact >= least, score.faults
        assert score.precision >= precision, score.faults
