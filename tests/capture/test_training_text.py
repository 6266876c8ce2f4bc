"""The bench talk that the language model learns from: its form, and that no test stands in it.

The rule that a narration which the program is judged by is never training text is in ``fixtures/README.md``
and ``fixtures/evaluation/README.md``; what a line looks like, in ``capture/vocabulary/text/README.md``.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pytest
import yaml

from capture.vocabulary.natural_text import TEXT_DIR
from capture.vocabulary.spoken_numbers import UNITS_TO_NINETEEN, cardinal
from fixtures.narration_files import NARRATIONS

NATURAL = sorted((TEXT_DIR / "natural").glob("*.txt"))
EVALUATIONS = [NARRATIONS.parent / f"{which}evaluation" for which in ("", "former_")]
JUDGED_BY = {
    **{f"narrations/{path.stem}": path for path in sorted(NARRATIONS.glob("*.yaml"))},
    **{
        f"{path.parent.name}/{path.stem}": path
        for folder in EVALUATIONS
        for path in sorted(folder.glob("*/narration*.yaml"))
    },
}
SHORTEST_SENTENCE = 5
"""Words. Shorter ones ("read that back", "no cracks") are everybody's."""
LEAST_WORDS, MOST_WORDS = 2, 30


class Said(NamedTuple):
    """A line or a sentence, lower case and in words, and where it stands."""

    words: str
    where: str


def lines_of(path: Path) -> Iterator[Said]:
    for number, line in enumerate(path.read_text("utf-8").splitlines(), 1):
        if line and not line.startswith("#"):
            yield Said(line, f"{path.relative_to(TEXT_DIR)}:{number}")


@cache
def training_lines() -> tuple[Said, ...]:
    """All text of the folder: natural talk, templates and everyday English."""
    return tuple(said for path in sorted(TEXT_DIR.rglob("*.txt")) for said in lines_of(path))


def in_words(printed: str) -> str:
    """Put print into words as far as that is simple: capitals apart, figures as a number said in full.

    A number can be said in several ways; the version in words has the one that was said.
    """
    apart = re.sub(r"\b[A-Z]{2,4}\b", lambda letters: " ".join(letters[0]), printed)
    said = re.sub(r"(\d+)(?:\.(\d+))?", _number_in_words, apart)
    return " ".join(re.findall(r"[a-z']+", said.lower()))


def _number_in_words(figures: re.Match[str]) -> str:
    decimals = " ".join(UNITS_TO_NINETEEN[int(digit)] for digit in figures[2] or "")
    return cardinal(int(figures[1])) + (f" point {decimals}" if decimals else "")


@cache
def sentences_of(path: Path) -> tuple[Said, ...]:
    """The sentences of a narration: whole utterances in words; in print, what stands between full stops."""
    found = []
    for number, entry in enumerate(yaml.safe_load(path.read_text("utf-8")), 1):
        for sentence in re.split(r"[.?!]+(?=\s|$)", entry["text"]):
            found.append(Said(in_words(sentence), f"{path.parent.name}/{path.name}, utterance {number}"))
    return tuple(found)


def starts_of(texts: Iterable[Said]) -> dict[tuple[str, ...], list[Said]]:
    """Where each run of five words stands."""
    index: dict[tuple[str, ...], list[Said]] = defaultdict(list)
    for text in texts:
        words = text.words.split()
        for at in range(len(words) - SHORTEST_SENTENCE + 1):
            index[tuple(words[at : at + SHORTEST_SENTENCE])].append(text)
    return index


@cache
def starts_in_training() -> dict[tuple[str, ...], list[Said]]:
    return starts_of(training_lines())


def standing_in(sentences: Iterable[Said], index: dict[tuple[str, ...], list[Said]]) -> list[str]:
    """Say of each sentence of five or more words that stands in an indexed text, whole or inside, where."""
    return [
        f'"{sentence.words}" ({sentence.where}) stands in {text.where}: "{text.words}"'
        for sentence in sentences
        for text in index.get(tuple(sentence.words.split()[:SHORTEST_SENTENCE]), [])
        if f" {sentence.words} " in f" {text.words} "
    ]


@pytest.mark.parametrize("path", NATURAL, ids=lambda path: path.stem)
def test_every_natural_line_is_a_few_lower_case_words(path: Path) -> None:
    wrong = [
        said
        for said in lines_of(path)
        if not re.fullmatch(r"[a-z']+(?: [a-z']+)*", said.words)
        or not LEAST_WORDS <= len(said.words.split()) <= MOST_WORDS
    ]
    assert not wrong


def test_no_natural_line_stands_twice() -> None:
    first: dict[str, str] = {}
    again = []
    for said in (said for path in NATURAL for said in lines_of(path)):
        if said.words in first:
            again.append(f"{said.where} repeats {first[said.words]}: {said.words}")
        first.setdefault(said.words, said.where)
    assert not again, "\n".join(again)


@pytest.mark.parametrize("narration", JUDGED_BY)
def test_no_sentence_that_the_program_is_judged_by_stands_in_the_training_text(narration: str) -> None:
    sentences = sentences_of(JUDGED_BY[narration])
    assert sum(len(sentence.words.split()) >= SHORTEST_SENTENCE for sentence in sentences) >= 5
    found = standing_in(sentences, starts_in_training())
    assert not found, "\n".join(found)


def test_no_line_of_training_stands_inside_a_narration_that_the_program_is_judged_by() -> None:
    index = starts_of(sentence for path in JUDGED_BY.values() for sentence in sentences_of(path))
    found = standing_in(training_lines(), index)
    assert not found, "\n".join(found)


def test_every_rebuild_and_evaluation_job_is_looked_at_in_words_and_in_print() -> None:
    jobs = {path.parent.name for folder in EVALUATIONS for path in folder.glob("*/sheet.yaml")}
    assert jobs
    assert {f"{job}/narration{kind}" for job in jobs for kind in ("", ".print")} <= set(JUDGED_BY)


def test_a_planted_sentence_is_found_whole_and_inside_and_a_short_one_is_let_be() -> None:
    index = starts_of([Said("right the spare key is in the blue tin again", "natural/planted.txt:7")])
    inside = Said("the spare key is in the blue tin", "narration.yaml, utterance 3")
    short = Said("the blue tin again", "narration.yaml, utterance 4")
    longer = Said("the spare key is in the blue tin box", "narration.yaml, utterance 5")
    assert standing_in([inside, short, longer], index) == [
        '"the spare key is in the blue tin" (narration.yaml, utterance 3) stands in natural/planted.txt:7:'
        ' "right the spare key is in the blue tin again"'
    ]


@pytest.mark.parametrize(
    ("printed", "words"),
    [
        ("Sleeve OD 1.8710", "sleeve o d one point eight seven one zero"),
        ("Needed close to 90 foot-pounds", "needed close to ninety foot pounds"),
        ("Okay, the V-blocks", "okay the v blocks"),
    ],
)
def test_print_is_put_into_words(printed: str, words: str) -> None:
    assert in_words(printed) == words
