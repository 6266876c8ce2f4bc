"""Torque and tension of a bolt by the nut factor, and how much of the proof load it uses."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from extract.shop.grades import Grade
from extract.shop.method import Figure, Method, Source, Worked, require
from extract.shop.nut_factors import SCATTER, SOURCE, NutFactor
from extract.shop.threads import Thread

OLD_BOLTS = (
    "Torque on old bolts: a stretched, corroded or damaged bolt can break at a torque that a new one takes; "
    "stand clear of its line and renew what is doubtful. The maker's torque comes first."
)
METHOD = Method(
    name="torque",
    title="Bolt torque and tension",
    formula="T = K d F; proof load = proof strength x tensile stress area; usual preload: 0.75 of it where "
    "the joint "
    "is taken apart again, 0.90 where it stays",
    valid="preload up to the proof load; K of the table, new threads, torque wrench; +-35 % dry, +-25 % "
    "lubricated",
    sources=(
        SOURCE,
        Source("proof strengths: Shigley's, 9th ed., tables 8-9 and 8-11", "R"),
        Source("0.75 and 0.90: Shigley's eq. 8-31, 8-32 as quoted", "R2"),
        SCATTER,
    ),
    cautions=(OLD_BOLTS,),
)
N_PER_LBF = 4.4482216152605
N_M_PER_FT_LB = 1.3558179483314004
REUSED, PERMANENT = 0.75, 0.90


@dataclass(frozen=True)
class Bolt:
    """A thread with, where it is known, its grade."""

    thread: Thread
    grade: Grade | None = None

    @property
    def proof_load_n(self) -> float | None:
        """Proof load; None without a grade."""
        return None if self.grade is None else self.grade.proof_mpa * self.thread.stress_area_mm2


def torque_nm(preload_n: float, diameter_mm: float, factor: float) -> float:
    """Return T = K d F in N·m.

    Args:
        preload_n: newtons, at least 0.
        diameter_mm: nominal diameter of the thread, millimetres.
        factor: nut factor K, 0.05 to 0.6.

    Raises:
        CalculationOutOfRange: outside these.

    Source: METHOD.
    """
    require("preload", preload_n, 0, unit="N")
    require("nut factor", factor, 0.05, 0.6)
    return factor * diameter_mm / 1000 * preload_n


def preload_n(torque: float, diameter_mm: float, factor: float) -> float:
    """Return F = T / (K d) in newtons.

    Args:
        torque: N·m, at least 0.
        diameter_mm, factor: as torque_nm.

    Raises:
        CalculationOutOfRange: outside these.

    Source: METHOD.
    """
    require("torque", torque, 0, unit="N_m")
    require("nut factor", factor, 0.05, 0.6)
    return torque / (factor * diameter_mm / 1000)


def preload_of_torque(bolt: Bolt, torque: Fraction, factor: NutFactor) -> Worked:
    """Work out what tension a torque gives.

    Args:
        torque: N·m, exact.

    Raises:
        CalculationOutOfRange: outside METHOD's validity (a preload above proof is a finding, no error).

    Source: METHOD.
    """
    force = preload_n(float(torque), float(bolt.thread.diameter_mm), float(factor.factor))
    return _worked(bolt, float(torque), force, factor)


def torque_for_share(bolt: Bolt, share: float, factor: NutFactor) -> Worked:
    """Work out the torque for a share of the proof load.

    Args:
        bolt: with its grade.
        share: of the proof load, above 0, at most 1.

    Raises:
        CalculationOutOfRange: a share outside, or a bolt without grade.

    Source: METHOD.
    """
    require("share of the proof load", share, 0, 1, open_=True)
    proof = bolt.proof_load_n
    require("proof load", proof or 0, 0, unit="N (give the bolt's grade)", open_=True)
    force = share * (proof or 0)
    return _worked(
        bolt, torque_nm(force, float(bolt.thread.diameter_mm), float(factor.factor)), force, factor
    )


def _worked(bolt: Bolt, torque: float, force: float, factor: NutFactor) -> Worked:
    figures = [
        Figure("torque", torque, "N_m"),
        Figure("torque_inch", torque / N_M_PER_FT_LB, "ft_lb"),
        Figure("nut_factor", float(factor.factor)),
        Figure("preload", force / 1000, "kN"),
        Figure("preload_inch", force / N_PER_LBF, "lbf"),
        Figure("stress_area", bolt.thread.stress_area_mm2, "mm2"),
        Figure("preload_least", force / 1000 * (1 - factor.scatter), "kN"),
        Figure("preload_most", force / 1000 * (1 + factor.scatter), "kN"),
    ]
    notes = [
        f"thread taken as {factor.words}; a torque wrench misses the preload by {factor.scatter:.0%} either "
        f"way"
    ]
    notes += [f"this nut factor is in doubt: {factor.doubt}"] if factor.doubt else []
    if bolt.grade is not None and bolt.proof_load_n is not None:
        share = force / bolt.proof_load_n
        figures += [
            Figure("proof_strength", bolt.grade.proof_mpa, "MPa"),
            Figure("proof_load", bolt.proof_load_n / 1000, "kN"),
            Figure("share_of_proof", 100 * share, "%"),
        ]
        notes.append(f"proof strength from {bolt.grade.source}")
        notes += [words] if (words := share_words(share)) else []
    return Worked(METHOD, tuple(figures), tuple(notes))


def share_words(share: float) -> str:
    """Say what is wrong with a share of the proof load; empty where nothing is."""
    if share > 1:
        return f"{share:.0%} of the proof load: the bolt is stretched for good; do not use"
    if share > PERMANENT + 1e-9:
        return f"{share:.0%} of the proof load: above what even a joint that stays is given (90 %)"
    return ""
