"""Advice on torques: tension, use of the proof load, and a lubricant that the torque was not given for."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from extract.shop.advice import Advice, exact_value, sure_readings
from extract.shop.advice_words import says
from extract.shop.grades import grade_for
from extract.shop.lubricant_change import METHOD as CHANGE
from extract.shop.lubricant_change import against_each_other
from extract.shop.nut_factors import NutFactor, factors_of, without_factor
from extract.shop.preload import METHOD, Bolt, preload_n, share_words
from extract.shop.threads import parse_thread
from shared.errors import RebuildError
from shared.job_sheet import JobSheet
from shared.record import ReadingEntry, RebuildRecord
from shared.sheet_entries import Fastener, words_of
from shared.units import convert

#: Consumables that go on threads and nowhere else, and those that do where the part is itself a fastener:
#: grease on a cover is not on its bolts.
_ON_THREADS = ("anti_seize", "thread_locker")
_ON_FASTENERS = (*_ON_THREADS, "assembly_lube", "grease")


@dataclass(frozen=True)
class _Facts:
    fastener: Fastener
    sheet_lubricant: str | None
    """A consumable of the contract; None for a thread that nothing is put on."""
    sheet_names_one: bool
    said: tuple[str, ...]
    """Consumables that were said to be put on it."""
    said_ids: tuple[str, ...]
    listed: tuple[str, ...]
    """Consumables that the sheet lists for the part."""
    readings: tuple[ReadingEntry, ...]


def torque_advice(sheet: JobSheet, record: RebuildRecord) -> list[Advice]:
    """Return advice for every fastener whose torque was read or whose thread something was put on."""
    found: list[Advice] = []
    for fastener in sheet.fasteners:
        facts = _facts(sheet, record, fastener)
        if facts.readings or facts.said:
            ask, conflict = _conflict(facts)
            tension, too_much = _tension(facts)
            sentences = [*conflict, *tension]
            if sentences:
                ids = (*(entry.id for entry in facts.readings), *facts.said_ids)
                found.append(
                    Advice(
                        fastener.item, " ".join(sentences), CHANGE if ask else METHOD, ids, ask or too_much
                    )
                )
    return found


def _facts(sheet: JobSheet, record: RebuildRecord, fastener: Fastener) -> _Facts:
    part = sheet.part_names.get(fastener.part or "")
    called = " | ".join([words_of(fastener.part or ""), *(part.spoken if part else ())])
    on_threads = _ON_FASTENERS if says("fastener", called) else _ON_THREADS
    said = [
        entry
        for entry in record.consumables
        if entry.standing
        and not entry.needs_review
        and entry.name in on_threads
        and entry.applied_to is not None
        and entry.applied_to == fastener.part
    ]
    lubricant, named = _sheet_lubricant(fastener.lubricant)
    return _Facts(
        fastener=fastener,
        sheet_lubricant=lubricant,
        sheet_names_one=named,
        said=tuple(dict.fromkeys(entry.name for entry in said)),
        said_ids=tuple(entry.id for entry in said),
        listed=tuple(c.name for c in sheet.consumables if fastener.part in c.for_ and c.name in on_threads),
        readings=tuple(sure_readings(record, fastener.item)),
    )


def _sheet_lubricant(written: str | None) -> tuple[str | None, bool]:
    """Return what a sheet's lubricant is, and whether it says anything about it."""
    if written is None:
        return None, False
    name = "_".join(written.lower().replace("-", " ").split())
    if name in _ON_FASTENERS:
        return name, True
    if says("no_lubricant", written):
        return None, True
    return ("assembly_lube" if says("oil", written) else name), True


def _conflict(facts: _Facts) -> tuple[str, list[str]]:
    """Return what to ask, and the sentences about what is on the thread; empty where all agrees."""
    what = _words(facts.sheet_lubricant) if facts.sheet_names_one else "no lubricant"
    if against_each_other(facts.said):
        return "thread locker and anti-seize on one thread", [
            "Thread locker and anti-seize were both said to be on this thread: one holds, the other lets "
            "go. Ask which is right."
        ]
    others = [
        name
        for name in facts.said
        if name != facts.sheet_lubricant and not _same_friction(name, facts.sheet_lubricant)
    ]
    unnamed = (
        [] if facts.sheet_names_one else [name for name in facts.listed if name in others or not facts.said]
    )
    if unnamed and not set(others) - set(unnamed):
        listed = " and ".join(_words(name) for name in unnamed)
        sentence = f"The sheet lists {listed} for the part, but its torque names no lubricant"
        return "", [f"{sentence}: find out which it was given for.", *_if_dry(facts, others)]
    if others:
        put_on = " and ".join(_words(name) for name in others)
        return f"{put_on} on a torque that names {what}", [
            f"The sheet's torque names {what}; {put_on} was put on.",
            *_if_dry(facts, others),
            "A deviation: ask whoever gave the torque before it goes back.",
        ]
    if facts.sheet_lubricant is not None and facts.readings and not facts.said:
        return "", [f"The sheet's torque counts on {what}; nobody said that it was put on."]
    return "", []


def _same_friction(first: str, second: str | None) -> bool:
    return factors_of(first) == factors_of(second) != ()


def _if_dry(facts: _Facts, others: Sequence[str]) -> list[str]:
    """Say what another consumable than the torque's does to the tension; nothing where none was put on."""
    if not others:
        return []
    before, after = factors_of(facts.sheet_lubricant), [f for name in others for f in factors_of(name)]
    if not before or not after:
        unknown = [_words(n) for n in (facts.sheet_lubricant, *others) if n in without_factor()]
        what = " and ".join(unknown) or "it"
        return [f"What {what} does to the tension was not published: the maker's sheet has it."]
    ratios = sorted(float(b.factor / a.factor) for b in before for a in after)
    span = f"{ratios[0]:.2g}" if ratios[0] == ratios[-1] else f"{ratios[0]:.2g} to {ratios[-1]:.2g}"
    given = "If it was given dry, the" if not facts.sheet_names_one else "The"
    return [f"{given} tension at the same torque is {span} times what was meant."]


def _tension(facts: _Facts) -> tuple[list[str], str]:
    """Return sentences on tension, and what to ask where it is above the proof load."""
    on_thread: list[str | None] = [facts.sheet_lubricant] if not facts.said else [*facts.said]
    if not all(factors_of(name) for name in on_thread):
        return [], ""
    factors = [factor for name in on_thread for factor in factors_of(name)]
    bolt = _bolt(facts.fastener)
    if bolt is None or not factors or not facts.readings:
        return [], ""
    forces = sorted(
        force for entry in facts.readings for force in _forces_n(entry, facts.fastener, bolt, factors)
    )
    scatter = max(factor.scatter for factor in factors)
    span = _span([force / 1000 for force in forces], "kN")
    put = " or ".join(factor.words for factor in factors)
    sentences = [
        f"Tension about {span} (thread {put}; a torque wrench misses by {100 * scatter:.0f} % either way)."
    ]
    proof = bolt.proof_load_n
    if proof is None or bolt.grade is None:
        return sentences, ""
    shares = [force / proof for force in forces]
    sentences.append(
        f"That is {_span([100 * s for s in shares], '%')} of the proof load of {bolt.grade.name}."
    )
    # Of two dry finishes the kinder stands: what both condemn is condemned.
    kindest = max(shares) if len(factors) == 1 else max(shares) * _kindest(factors)
    if words := share_words(kindest):
        return [*sentences, f"{words[:1].upper()}{words[1:]}."], "above the proof load" if kindest > 1 else ""
    return sentences, ""


def _kindest(factors: Sequence[NutFactor]) -> float:
    return float(min(f.factor for f in factors) / max(f.factor for f in factors))


def _bolt(fastener: Fastener) -> Bolt | None:
    """Return the fastener's bolt; None where its thread is not one that is known here."""
    try:
        thread = parse_thread(fastener.thread or "")
    except RebuildError:
        return None
    try:
        return Bolt(thread, grade_for(fastener.grade, thread) if fastener.grade else None)
    except RebuildError:
        return Bolt(thread)


def _forces_n(
    entry: ReadingEntry, fastener: Fastener, bolt: Bolt, factors: Sequence[NutFactor]
) -> list[float]:
    torque: Fraction = convert(exact_value(entry), fastener.unit, "N_m")
    if torque < 0:
        return []
    return [preload_n(float(torque), float(bolt.thread.diameter_mm), float(f.factor)) for f in factors]


def _span(values: Sequence[float], unit: str) -> str:
    low, high = f"{values[0]:.3g}", f"{values[-1]:.3g}"
    return f"{low} {unit}" if low == high else f"{low} to {high} {unit}"


def _words(name: str | None) -> str:
    return {"anti_seize": "anti-seize", None: "a dry thread"}.get(name, words_of(name or ""))
