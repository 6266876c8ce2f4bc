"""Which shims off the bench make a pack: exact choice, in whole numbers, fewest shims.

Thicknesses are decimals of one unit; they are brought onto the finest grid that all of them lie on, and
everything after that is integers. In floating point 0.003 + 0.035 is not 0.038, and a stack that is
there would not be found.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import lcm

from extract.shop.method import Figure, Method, Source, Worked
from shared.errors import CalculationOutOfRange

METHOD = Method(
    name="shims",
    title="Shims for a pack",
    formula="choose a subset of the shims on hand whose sum is nearest to the pack wanted, fewest shims "
    "first; "
    "new pack = old pack + (mean clearance - nominal), or minus it, as the pump is built",
    valid="1 to 60 shims on hand, thicknesses above 0, at most 20,000 different sums",
    sources=(Source("exact subset sum over integers; compared with trying every subset", "C"),),
    cautions=("Shim edges cut: wear gloves. Measure the clearance again after the change, all round.",),
)
MOST_SHIMS = 60
_MOST_SUMS = 20_000
Stack = tuple[int, ...]
"""Thicknesses on the integer grid, thickest first."""


@dataclass(frozen=True)
class ShimChoice:
    """The best packs; lengths are whole steps of the grid."""

    stacks: tuple[Stack, ...]
    """All different packs of the fewest shims with the least error on one side, thickest shim first."""
    error: int
    """Of them: pack minus target; 0 where the target can be made."""
    other_side: tuple[Stack, ...]
    """Nearest packs on the other side of the target; empty where it can be made or there is none."""
    other_error: int
    exact_stacks: int
    """How many different packs make the target exactly."""


def choose_shims(on_hand: Sequence[int], target: int) -> ShimChoice:
    """Choose the shims whose sum is nearest to the target; of equal ones the fewest.

    Of two sums equally far from the target the one with fewer shims comes first.

    Args:
        on_hand: thickness of every single shim, whole steps, above 0.
        target: wanted pack in the same steps, at least 0.

    Raises:
        CalculationOutOfRange: no shims, too many, a thickness that is not positive, too many sums.

    Source: METHOD.
    """
    if not 1 <= len(on_hand) <= MOST_SHIMS:
        raise CalculationOutOfRange(f"{len(on_hand)} shims on hand", expected=f"1 to {MOST_SHIMS}")
    if min(on_hand) <= 0 or target < 0:
        raise CalculationOutOfRange("a shim or a pack that is not positive", expected="thicknesses above 0")
    counts = Counter(on_hand)
    layers, ways = _sums(counts, target)
    fewest = layers[-1]
    below = max(total for total in fewest if total <= target)
    above = min((total for total in fewest if total >= target), default=below)

    def rank(total: int) -> tuple[int, int]:
        return abs(total - target), fewest[total]

    best, other = (below, above) if rank(below) <= rank(above) else (above, below)
    return ShimChoice(
        stacks=_stacks(counts, layers, best),
        error=best - target,
        other_side=_stacks(counts, layers, other) if other != best else (),
        other_error=other - target if other != best else 0,
        exact_stacks=ways.get(target, 0),
    )


def _sums(counts: Mapping[int, int], target: int) -> tuple[list[dict[int, int]], dict[int, int]]:
    """Return the fewest shims for every sum that can matter, and how many different packs make it.

    The fewest come in layers: the n-th knows the n thinnest thicknesses only.
    """
    # A sum above target by a whole shim or more stays above it without that shim: never the nearest.
    ceiling = target + max(counts)
    layers: list[dict[int, int]] = [{0: 0}]
    ways: dict[int, int] = {0: 1}
    for thickness, count in sorted(counts.items()):
        longer, more = dict(layers[-1]), dict(ways)
        for total, shims in layers[-1].items():
            for taken in range(1, count + 1):
                reached = total + taken * thickness
                if reached > ceiling:
                    break
                longer[reached] = min(longer.get(reached, shims + taken), shims + taken)
                more[reached] = more.get(reached, 0) + ways[total]
        layers.append(longer)
        ways = more
        if len(longer) > _MOST_SUMS:
            raise CalculationOutOfRange(
                "the shims make too many different sums", expected="fewer shims or rounder thicknesses"
            )
    return layers, ways


def _stacks(
    counts: Mapping[int, int], layers: Sequence[Mapping[int, int]], total: int, most: int = 6
) -> tuple[Stack, ...]:
    """Return up to ``most`` different packs of the fewest shims that sum to ``total``."""
    found: list[Stack] = []
    thinnest_first = sorted(counts)

    def search(layer: int, left: int, room: int, taken: Stack) -> None:
        # What the thinner ones need for the rest is known, so no branch ends in nothing.
        if len(found) >= most or layers[layer].get(left) != room:
            return
        if layer == 0:
            found.append(taken)
            return
        thickness = thinnest_first[layer - 1]
        for count in range(min(counts[thickness], room), -1, -1):
            search(layer - 1, left - count * thickness, room - count, taken + (thickness,) * count)

    search(len(thinnest_first), total, layers[-1][total], ())
    return tuple(found)


def grid_of(lengths: Sequence[Fraction]) -> int:
    """Return how many steps of the finest common grid go into one unit.

    Raises:
        CalculationOutOfRange: finer than a millionth.
    """
    steps = lcm(*(length.denominator for length in lengths))
    if steps > 1_000_000:
        raise CalculationOutOfRange("thicknesses with too many decimals", expected="at most 6")
    return steps


def pack_for(on_hand: Sequence[Fraction], target: Fraction, unit: str) -> Worked:
    """Advise which shims make a pack.

    Args:
        on_hand: thickness of each shim, in ``unit``.
        target: wanted pack, same unit.

    Raises:
        CalculationOutOfRange: outside METHOD's validity.

    Source: METHOD.
    """
    steps = grid_of([*on_hand, target])
    choice = choose_shims([int(length * steps) for length in on_hand], int(target * steps))

    def words(stack: Stack) -> str:
        return " + ".join(f"{float(Fraction(step, steps)):g}" for step in stack) or "no shims"

    figures = [
        Figure("pack_wanted", float(target), unit),
        Figure("shims", words(choice.stacks[0]), unit),
        Figure("number_of_shims", len(choice.stacks[0])),
        Figure("pack_error", float(Fraction(choice.error, steps)), unit),
        Figure("exact_packs", choice.exact_stacks),
    ]
    if len(choice.stacks) > 1:
        figures.append(Figure("as_few_shims", "; ".join(words(s) for s in choice.stacks[1:]), unit))
    notes: list[str] = []
    if choice.exact_stacks == 0:
        notes.append(
            "these shims cannot make the pack exactly; which side of it is right depends on the pump"
        )
        if choice.other_side:
            figures.append(Figure("other_side", words(choice.other_side[0]), unit))
            figures.append(Figure("other_side_error", float(Fraction(choice.other_error, steps)), unit))
    return Worked(METHOD, tuple(figures), tuple(notes))


def pack_wanted(pack: Fraction, mean: Fraction, nominal: Fraction, *, more_opens: bool) -> Fraction:
    """Return the pack that brings the mean clearance to nominal; all in one unit.

    Args:
        more_opens: whether a thicker pack opens the clearance; that depends on how the pump is built.

    Raises:
        CalculationOutOfRange: the pack would be thinner than nothing.

    Source: geometry; a shim moves the cartridge by its own thickness.
    """
    change = nominal - mean if more_opens else mean - nominal
    if pack + change < 0:
        raise CalculationOutOfRange(
            f"the pack would have to be {float(pack + change):g}", expected="0 or more; look at the readings"
        )
    return pack + change
