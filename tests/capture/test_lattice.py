"""What may have been said, summed up over a word lattice with a trigram model."""

from __future__ import annotations

import math
from collections import defaultdict
from collections.abc import Iterator
from random import Random

import pytest

from capture.engines.lattice import Lattice, Link, likely_sequences, read_lattice

#: <s> (zero | sierra) point three (thou | [NOISE] thou) </s>
HTK = """# Lattice generated for a test
VERSION=1.0
start=0
end=6
N=8 L=9
I=0 t=0.00 W=!SENT_START v=1
I=1 t=0.10 W=zero v=1
I=2 t=0.10 W=sierra v=1
I=3 t=0.40 W=point v=1
I=4 t=0.70 W=three v=1
I=5 t=0.95 W=thou v=1
I=6 t=1.20 W=!SENT_END v=1
I=7 t=0.90 W=[NOISE] v=1
J=0 S=0 E=1 a=-10.0 p=0.4
J=1 S=0 E=2 a=-10.0 p=0.6
J=2 S=1 E=3 a=-70.0 p=0.4
J=3 S=2 E=3 a=-63.0 p=0.6
J=4 S=3 E=4 a=-50.0 p=1.0
J=5 S=4 E=5 a=-40.0 p=0.9
J=6 S=4 E=7 a=-40.0 p=0.1
J=7 S=7 E=5 a=-1.0 p=0.1
J=8 S=5 E=6 a=-30.0 p=1.0
"""
NUMBERS = {"zero": "oh", "point": "point", "three": "three", "thou": "thou"}


def language(word: str, last: str, before: str) -> float:
    """Of the words here only "point" depends on what stands before it."""
    if word == "point":
        return math.log(0.5 if last == "zero" else 0.01)
    return math.log(0.1)


def _heard(lattice: Lattice, *, weight: float = 7.0, scale: float = 7.0) -> dict[str, float]:
    found = likely_sequences(
        lattice, lambda word: NUMBERS.get(word, ""), language, weight=weight, scale=scale
    )
    return {heard.text: heard.share for heard in found}


def test_a_lattice_is_read_with_silent_nodes_and_likelihoods() -> None:
    lattice = read_lattice(HTK)
    assert lattice.words == ("", "zero", "sierra", "point", "three", "thou", "", "")
    assert (lattice.start, lattice.end) == (0, 6)
    assert (lattice.links[3].sound, lattice.links[3].posterior) == (-63.0, 0.6)


def test_shares_are_those_of_the_trigram_model_and_sum_to_one() -> None:
    # By hand: sound favours sierra by 7 nats, a factor e; language favours zero by 0.5 / 0.01.
    odds = 50 / math.e
    heard = _heard(read_lattice(HTK))
    assert heard["zero point three thou"] == pytest.approx(odds / (1 + odds))
    assert sum(heard.values()) == pytest.approx(1)


def test_sound_alone_decides_where_language_has_no_weight() -> None:
    heard = _heard(read_lattice(HTK), weight=0.0)
    assert heard["sierra point three thou"] == pytest.approx(math.e / (1 + math.e))


def test_hopeless_links_are_left_out() -> None:
    heard = _heard(read_lattice(HTK.replace("a=-63.0 p=0.6", "a=-63.0 p=1e-9")))
    assert list(heard) == ["zero point three thou"]


@pytest.mark.parametrize("text", ["", "I=0 W=a\n", "start=0\nend=3\nI=1 W=a\n"])
def test_what_is_no_lattice_is_refused(text: str) -> None:
    with pytest.raises(ValueError, match="no word lattice"):
        read_lattice(text)


def test_a_link_that_cannot_be_read_is_not_left_out_in_silence() -> None:
    with pytest.raises(ValueError, match="links that cannot be read"):
        read_lattice(HTK.replace("a=-63.0 p=0.6", "a=-63.0"))


def paths(lattice: Lattice, node: int) -> Iterator[tuple[list[str], float, int]]:
    """Words said behind a node, their sound and the nodes without a word, of each way to the end."""
    if node == lattice.end:
        yield [], 0.0, 0
        return
    for link in (link for link in lattice.links if link.start == node):
        word = "" if link.end == lattice.end else lattice.words[link.end]
        for words, sound, pauses in paths(lattice, link.end):
            silent = pauses + (not word and link.end != lattice.end)
            yield [word, *words] if word else words, link.sound + sound, silent


def by_every_path(lattice: Lattice) -> dict[tuple[str, ...], float]:
    """The shares by definition: each path by itself, then summed (no width, nothing taken together)."""
    shares: dict[tuple[str, ...], float] = defaultdict(float)
    for words, sound, pauses in paths(lattice, lattice.start):
        row = ["", "<s>", *words, "</s>"]
        spoken = sum(trigram(row[at], row[at - 1], row[at - 2]) for at in range(2, len(row)))
        fit = sound + 6.5 * spoken + pauses * math.log(0.005)
        shares[tuple(NUMBERS[word] for word in words if word in NUMBERS)] += math.exp(fit / 7)
    whole = sum(shares.values())
    return {said: share / whole for said, share in shares.items()}


def trigram(word: str, last: str, before: str) -> float:
    """Made up; depends on all three."""
    return -1 - Random(f"{word} {last} {before}").random() * 4


@pytest.mark.parametrize("seed", range(8))
def test_shares_are_those_of_all_paths_gone_one_by_one(seed: int) -> None:
    chance = Random(seed)
    said = ["zero", "point", "three", "thou", "vane", "the", ""]
    words = ("", *(chance.choice(said) for _ in range(8)), "")
    links = tuple(
        Link(start, end, -chance.random() * 20, 1.0)
        for start in range(9)
        for end in range(start + 1, 10)
        if end == start + 1 or chance.random() < 0.4
    )
    lattice = Lattice(words, links, 0, 9)
    heard = likely_sequences(lattice, lambda word: NUMBERS.get(word, ""), trigram, weight=6.5, scale=7.0)
    shares = {tuple(NUMBERS[w] for w in one.text.split() if w in NUMBERS): one.share for one in heard}
    assert shares == pytest.approx(by_every_path(lattice))
    assert [one.share for one in heard] == sorted((one.share for one in heard), reverse=True)
