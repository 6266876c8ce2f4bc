"""Words that stand between readings and mean nothing by themselves.

A bare number goes on with the item named before only where nothing else is talked about in its
clause: "outboard again one point seven" does, "we won three two" does not.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable

from extract.heard import Heard
from extract.numbers import is_number_word
from extract.word_sets import word_set

_GLUE = word_set("bench_words.glue")


#: Talk of figures on a plate, never of a reading.
_IDENTIFYING = frozenset({"digit", "digits", "serial", "nameplate", "invoice", "phone", "letter", "letters"})


def strange_words(
    heard: Heard, start: int, end: int, meant: Iterable[tuple[int, int]] = (), known: Collection[str] = ()
) -> int:
    """Count the words of a run that neither belong to a reading nor are named by sheet or trade."""
    covered = {i for a, b in meant for i in range(a, b)}
    for mention in heard.mentions.all:
        if mention.kind in ("item", "position", "cue"):
            covered.update(range(mention.start, mention.end))
    if _IDENTIFYING & set(heard.norms(start, end)):
        return 99
    strange = 0
    for i in range(start, end):
        token = heard.tokens[i]
        if (
            i in covered
            or token.norm in _GLUE
            or token.norm in known
            or token.norm.removesuffix("s") in known
            or is_number_word(token)
            or not token.norm[0].isalpha()
        ):
            continue
        strange += 1
    return strange
