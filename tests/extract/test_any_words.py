"""Whatever the ear makes of the sound, reading it never fails: one sentence must not cost a whole job."""

from __future__ import annotations

import random

import pytest

from extract.record_builder import RecordBuilder
from fixtures.narration_files import REBUILDS, read_narration
from shared.speech import Utterance

#: Words that numbers, joins and corrections are made of; any of them may come first or last.
PIECES = """
    or to and a half couple of few thou tenths no one two eighteen twenty five point oh zero hundred
    thousand thousandths psi by quarter over minus plus about , . - between from vane is was make that
    not don't scratch inch foot pounds degrees same each both all it them the next new old reused pause
    resume recording picture of
""".split()  # noqa: SIM905 - a list of words reads best as words


def any_words(rng: random.Random, lines: list[str]) -> str:
    """Stretches of real talk and of pieces, in any order, broken off anywhere."""
    words: list[str] = []
    for _ in range(rng.randint(1, 5)):
        line = rng.choice(lines).split()
        at = rng.randrange(len(line))
        words += rng.choice([line[at : at + rng.randint(1, 6)], rng.choices(PIECES, k=rng.randint(1, 6))])
    return " ".join(words)


@pytest.mark.parametrize("seed", range(6))
def test_any_words_are_read_and_what_is_kept_reads_the_same(seed: int) -> None:
    rng = random.Random(seed)
    name = REBUILDS[seed % len(REBUILDS)]
    lines = [line.text for line in read_narration(name)]
    first, again = RecordBuilder(name), RecordBuilder(name)
    for n in range(40):
        others = (any_words(rng, lines),) if rng.random() < 0.3 else ()
        score = rng.choice([None, 0.3, -0.2])
        said = Utterance(
            any_words(rng, lines), 5.0 * n, 5.0 * n + 4, rng.random(), alternatives=others, job_score=score
        )
        first.hear(said)
        again.hear(first.kept(n))
    assert again.record().to_json() == first.record().to_json()
