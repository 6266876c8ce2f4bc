"""Parts that share one noun: "front and rear bearings", "the drive end and non drive end bearings"."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from extract.pipeline import TalkPipeline
from extract.sheet_phrases import WEAK, Phrase

_JOINS = frozenset({"and", "&"})
_ARTICLES = frozenset({"the", "both", "a"})
#: "Non drive end" is what tells a bearing apart in most words.
_LONGEST = 3


def shared_nouns(
    pipeline: TalkPipeline, words: Sequence[str], names: Sequence[tuple[int, int]], taken: set[int]
) -> Iterator[tuple[Phrase, int, int]]:
    """Yield the phrase of each part whose noun stands only with the one behind it, on its own words.

    Args:
        words: of the utterance.
        names: where parts of the sheet are named, first word and word after the last.
        taken: words that name a part or an item already.
    """
    for start, end in names:
        at = start - 1
        while at > 0 and words[at] in _ARTICLES:
            at -= 1
        if at < 1 or end - start < 2 or words[at] not in _JOINS or at - 1 in taken:
            continue
        yield from _first_of(pipeline, words, at, words[start:end])


def _first_of(
    pipeline: TalkPipeline, words: Sequence[str], joint: int, name: Sequence[str]
) -> Iterator[tuple[Phrase, int, int]]:
    """Yield what the words before "and" name together with the end of the name behind it, the longest."""
    for size in range(min(_LONGEST, joint), 0, -1):
        modifier = words[joint - size : joint]
        for own in range(1, len(name)):
            tail = list(name[own:])
            # "Drive and idler rotors" are one of each.
            for rest in (tail, [*tail[:-1], tail[-1].removesuffix("s")]):
                found = [
                    phrase
                    for phrase, at, to in pipeline.sheet_matches([*modifier, *rest])
                    if phrase.kind == "part" and at == 0 and to == size + len(rest) and phrase.cost < WEAK
                ]
                if found:
                    yield found[0], joint - size, joint
                    return
