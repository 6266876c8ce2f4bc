"""How sure a hearing must be for a value to stand unasked: surer in noise, and surer out of limits.

Most values are within their limits and a misheard one mostly is not; so a value out of limits is less
likely than its sound alone says, and it is worth being said twice. In noise the ear errs by the sound, is
sure of its errors, and errs alike when it hears the same sound again otherwise. Development speech of 26
November 2026, in shop noise at 15 dB (12 recordings of 6 jobs, 298 readings): of 173 values filed unasked 9
were misheard; of 30 that were out of limits 6, of 143 within 3, of 104 within and heard with a posterior of
0.95 none. The same jobs in quiet (18 recordings, 501 readings): of 413 values 2 were misheard, one of them
out of limits with 0.72; of values out of limits one that was right was heard with less than 0.9.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from extract.conformity import judge
from extract.heard import Heard
from extract.placings import Item
from extract.reading_drafts import ReadingDraft, value_candidate

#: Below it a word heard in noise is asked about.
SURE_IN_NOISE = 0.95
_SURE_OUT_OF_LIMITS = 0.9


def doubt_unsure(heard: Heard, drafts: Sequence[ReadingDraft], items: Mapping[str, Item]) -> None:
    """Ask for values to be confirmed that were not heard surely enough for where and what they are."""
    for draft in drafts:
        if draft.value is None:
            continue
        verdict, offered = judge(draft.value, items[draft.item]), value_candidate(draft.value, draft.unit)
        if heard.utterance.noisy and verdict == "outside":
            draft.ask("out of limits, and heard in noise", offered)
        elif heard.utterance.noisy and draft.confidence < SURE_IN_NOISE:
            draft.ask("heard in noise", offered)
        elif verdict == "outside" and draft.confidence < _SURE_OUT_OF_LIMITS:
            draft.ask("out of limits, and not heard clearly", offered)
