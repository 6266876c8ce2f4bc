"""Which of the values that a question offers stands in the record until somebody answers.

Where the ear heard a number in two ways, either may have been said, and the sheet knows more than the ear:
most values are within their limits and most misheard ones are not. So the first one heard that is within
them is filed, to be confirmed; where none is, none leads. Development speech of 26 November 2026 in shop
noise at 15 dB (17 recordings of 6 jobs): of 47 such questions with a value within limits 36 were led by the
right one, of 15 without none. A value that is open because of what was said ("it was denied", "two values in
one breath") stays open: no limit tells what the speaker meant.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from extract.conformity import judge
from extract.heard import Heard
from extract.placings import Item
from extract.reading_drafts import ReadingDraft


def leading_value(heard: Heard, draft: ReadingDraft, item: Item) -> Fraction | None:
    """Return the value that a reading is filed with, in the item's unit; None where no candidate leads.

    Only in noise: there it was measured. In quiet two hearings that differ are as good as each other, and
    what is within its limits must not be taken for what was said.
    """
    if draft.value is not None or draft.open_by_words or not heard.utterance.noisy:
        return draft.value
    return next((value for value in _offered(draft) if judge(value, item) == "within"), None)


def _offered(draft: ReadingDraft) -> Iterator[Fraction]:
    """Yield the values that may have been said at the draft's own place, as heard first."""
    if draft.heard_first is not None:
        yield draft.heard_first
        for candidate in draft.candidates:
            elsewhere = (candidate.item or draft.item, candidate.position or draft.position)
            if candidate.value_exact is not None and elsewhere == draft.place():
                yield Fraction(candidate.value_exact)
