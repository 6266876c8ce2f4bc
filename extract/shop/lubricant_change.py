"""What becomes of a torque when something else is on the thread than it was given for."""

from __future__ import annotations

from collections.abc import Collection
from fractions import Fraction

from extract.shop.method import Figure, Method, Source, Worked
from extract.shop.nut_factors import SOURCE, NutFactor, without_factor
from extract.shop.preload import N_M_PER_FT_LB, OLD_BOLTS, Bolt, preload_n, share_words

METHOD = Method(
    name="lubricant",
    title="Torque after a change of lubricant",
    formula="same torque: F2/F1 = K1/K2; same tension: T2/T1 = K2/K1",
    valid="both conditions in the table of nut factors; new threads",
    sources=(SOURCE, Source("published cuts of torque for anti-seize disagree (25 %, 35 %, by K)", "R2")),
    cautions=(OLD_BOLTS,),
)
#: Put together on one thread they work against each other: one is there to let go, one to hold.
#: Common practice, no source.
_AGAINST_EACH_OTHER = frozenset({"anti_seize", "thread_locker"})


def change_of_lubricant(bolt: Bolt, torque: Fraction, given_for: NutFactor, now: NutFactor) -> Worked:
    """Work out what a torque does on a thread in another condition.

    Args:
        torque: N·m, exact.
        given_for: condition that the torque was given for.
        now: condition of the thread.

    Raises:
        CalculationOutOfRange: a negative torque.

    Source: METHOD.
    """
    diameter = float(bolt.thread.diameter_mm)
    before = preload_n(float(torque), diameter, float(given_for.factor))
    after = preload_n(float(torque), diameter, float(now.factor))
    ratio = float(given_for.factor / now.factor)
    same_tension = float(torque) / ratio
    figures = [
        Figure("preload_intended", before / 1000, "kN"),
        Figure("preload_now", after / 1000, "kN"),
        Figure("preload_ratio", ratio),
        Figure("torque_for_same_tension", same_tension, "N_m"),
        Figure("torque_for_same_tension_inch", same_tension / N_M_PER_FT_LB, "ft_lb"),
    ]
    notes = [
        "ask whoever gave the torque: a torque for one condition on another is a deviation, not a conversion"
    ]
    if bolt.proof_load_n is not None:
        shares = (before / bolt.proof_load_n, after / bolt.proof_load_n)
        figures += [
            Figure("share_of_proof_intended", 100 * shares[0], "%"),
            Figure("share_of_proof_now", 100 * shares[1], "%"),
        ]
        notes += [words] if (words := share_words(shares[1])) else []
    notes += [f"nut factor {f.words}: {f.doubt}" for f in (given_for, now) if f.doubt]
    return Worked(METHOD, tuple(figures), tuple(notes))


def against_each_other(on_thread: Collection[str]) -> bool:
    """Tell whether thread locker and anti-seize are on one thread. Common practice, no source."""
    return set(on_thread) >= _AGAINST_EACH_OTHER


def unknown_friction(on_thread: Collection[str]) -> tuple[str, ...]:
    """Return what is on a thread that no published nut factor is known for, in order."""
    return tuple(name for name in without_factor() if name in on_thread)
