"""Words that a recogniser cut in the wrong place: "in board", "gas kit", "lips heels".

Two neighbours are tried as one word, and with an "s" moved over the gap; what comes out counts only
where it makes a name that the words as heard do not make, and the name carries the repair.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from extract.number_words import NUMBER_WORDS
from extract.pipeline import TalkPipeline
from extract.sheet_phrases import Phrase
from extract.sounding import sound_of
from extract.word_sets import word_set

#: No halves of a trade word: "bear in mind" is no bearing.
_SMALL = word_set("split_words.small")
_SHORTEST_JOINED = 6
_REACH = 5

Cut = tuple[Phrase, int, int, str]
"""What is named, its tokens as heard, and the repair in words."""


def cut_wrongly(
    pipeline: TalkPipeline, words: Sequence[str], alone: Mapping[str, tuple[str, ...]]
) -> Iterator[Cut]:
    """Yield the names that come out of two neighbours joined or cut anew.

    Args:
        words: of an utterance, in normal form.
        alone: what single misheard words may be mended to.
    """
    for i in range(len(words) - 1):
        first, second = words[i], words[i + 1]
        if not (first.isalpha() and second.isalpha()) or {first, second} & NUMBER_WORDS:
            continue
        for right in _readings(pipeline, first, second, alone):
            yield from _named(pipeline, words, i, right)


def _readings(
    pipeline: TalkPipeline, first: str, second: str, alone: Mapping[str, tuple[str, ...]]
) -> Iterator[tuple[str, ...]]:
    joined = first + second
    if len(joined) >= _SHORTEST_JOINED and len(second) > 1:
        if joined in pipeline.words:
            yield (joined,)
        elif not {first, second} & _SMALL and not _is_done(pipeline, second):
            for word in dict.fromkeys((*alone.get(joined, ()), *pipeline.sounding_like(sound_of(joined)))):
                yield (word,)
    if first.endswith("s") and first[:-1] in pipeline.words and second not in pipeline.words:
        for tail in (f"s{second}", f"s{second.removeprefix('h')}"):
            for word in pipeline.sounding_like(sound_of(tail)):
                yield (first[:-1], word)


def _is_done(pipeline: TalkPipeline, word: str) -> bool:
    """Whether a word tells what was done with what is called so ("plate bolted up" are no bolts)."""
    return word.endswith("ed") and word[:-2] in pipeline.words


def _named(pipeline: TalkPipeline, words: Sequence[str], i: int, right: tuple[str, ...]) -> Iterator[Cut]:
    start, end = max(0, i - _REACH), min(len(words), i + 2 + _REACH)
    changed = [*words[start:i], *right, *words[i + 2 : end]]
    lost = 2 - len(right)
    repair = f"{words[i]} {words[i + 1]} for {' '.join(right)}"
    for phrase, begins, ends in pipeline.sheet_matches(changed):
        if begins <= i - start and ends >= i - start + len(right):
            yield phrase, begins + start, ends + start + lost, repair
