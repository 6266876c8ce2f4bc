"""How the report says things: values, limits, verdicts, times, names.

One place, so that HTML, PDF and screen agree.
"""

from __future__ import annotations

from fractions import Fraction

from api.narration import UNTIMED
from api.report.view import Heard
from shared.job_sheet import JobSheet
from shared.record import (
    Candidate,
    Disposition,
    Evidence,
    RebuildRecord,
    Stage,
    SupersededWhy,
    Verdict,
)
from shared.sheet_entries import Fastener, Reading, words_of
from shared.units import KIND_OF_UNIT, SYMBOLS, convert, shown_number

NOT_SAID = "not said"
ADVISES = "This record advises; it does not authorise."
CLOSING = (
    "Follow the equipment maker's instructions, local codes and licensed practice; "
    "this record advises and does not authorise."
)
#: What a reviewer may decide; the program never ticks one.
REVIEW = ("accept", "accept with the dispositions above", "send back")
#: First cautions of every report, whatever the sheet says. Isolation: 29 CFR 1910.147(d), read in a
#: secondary reprint; decontamination: common practice, no source.
ISOLATION = (
    "Before work on the pump an authorised person isolates it, locks or tags it, relieves and restrains "
    "stored energy, and verifies that it is dead until nothing can build up again."
)
DECONTAMINATION = (
    "Flush and decontaminate the pump before it comes to the bench; "
    "read the safety data sheet of what it pumped."
)

VERDICT_WORDS: dict[Verdict, str] = {
    "within": "within", "outside": "OUTSIDE", "undecided": "undecided", "no_limit": "no limit",
}  # fmt: skip
VERDICT_SYMBOLS: dict[Verdict, str] = {"within": "✓", "outside": "✗", "undecided": "?", "no_limit": "–"}
STAGE_WORDS: dict[Stage, str] = {"as_found": "as found", "as_left": "as left", "either": "stage not said"}
DEVIATION_WORDS: dict[str, str] = {
    "out_of_tolerance": "outside limits", "against_policy": "against the sheet",
    "skipped_step": "step left out", "declared": "declared",
}  # fmt: skip
SUPERSEDED_WORDS: dict[SupersededWhy, str] = {
    "corrected": "corrected", "measured_again": "measured again", "struck": "struck on command",
}  # fmt: skip
DISPOSITION_WORDS: dict[Disposition, str] = {
    "use_as_is": "use as is", "rework": "rework", "repair": "repair", "reject": "reject",
}  # fmt: skip


def clock(seconds: float | None) -> str:
    """Return a moment of the recording as ``m:ss`` or ``h:mm:ss``; empty for an unknown one."""
    if seconds is None:
        return ""
    minutes, second = divmod(int(seconds), 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours}:{minute:02d}:{second:02d}" if hours else f"{minute}:{second:02d}"


def timed(record: RebuildRecord) -> bool:
    """Whether the moments of a record were measured; text without times only counts utterances."""
    return record.made_by.engine != UNTIMED


def heard_at(record: RebuildRecord, evidence: Evidence) -> Heard:
    """Return when and in what words an entry was heard."""
    if evidence.utterance < 0 and evidence.start_s == 0:
        return Heard("", evidence.words)  # Nobody said it, and it belongs to no moment: a picture's remark.
    number = f"no. {evidence.utterance + 1}"
    return Heard(clock(evidence.start_s) if timed(record) else number, evidence.words)


def decimals_of(entry: Reading | Fastener | None) -> int:
    """Return how many decimals the sheet writes for an item, the most of its nominal and limits."""
    return 0 if entry is None else entry.decimals


def value_words(value: str | None, unit: str | None, decimals: int = 0) -> str:
    """Return a value with its unit, in at least the sheet's decimals (:func:`shared.units.shown_number`)."""
    if value is None:
        return "no value"
    symbol = SYMBOLS.get(unit or "", unit or "")
    return f"{shown_number(value, decimals)} {symbol}".rstrip()


def said_words(value: str | None, unit: str, said_unit: str | None) -> str:
    """Return a value as it was said, where that was in another unit than the sheet's; else nothing."""
    if value is None or said_unit is None or said_unit == unit or said_unit not in KIND_OF_UNIT:
        return ""
    said = float(convert(Fraction(value), unit, said_unit))
    return f"{said:.10g} {SYMBOLS[said_unit]} said"


def limits_words(entry: Reading | Fastener | None) -> str:
    """Return an item's limits as a sentence fragment, such as ``0.012 to 0.024 in``."""
    if entry is None:
        return "not on the sheet"
    symbol = SYMBOLS[entry.unit]
    if entry.lower is not None and entry.lower == entry.upper:
        text = f"exactly {entry.lower} {symbol}"
    elif entry.lower is not None and entry.upper is not None:
        text = f"{entry.lower} to {entry.upper} {symbol}"
    elif entry.upper is not None:
        text = f"at most {entry.upper} {symbol}"
    elif entry.lower is not None:
        text = f"at least {entry.lower} {symbol}"
    else:
        return "no limit"
    return text.rstrip()


def nominal_words(entry: Reading | Fastener | None) -> str:
    """Return an item's nominal value, or nothing where the sheet gives none."""
    return f"nominal {entry.nominal}" if entry and entry.nominal is not None else ""


def uncertainty_words(entry: Reading | Fastener | None) -> str:
    """Return an item's expanded uncertainty, or nothing where the sheet gives none."""
    if entry is None or entry.uncertainty is None:
        return ""
    return f"± {entry.uncertainty} {SYMBOLS[entry.unit]}".rstrip() + " (k = 2)"


def position_words(sheet: JobSheet, position: str | None, item: str | None = None) -> str:
    """Return what a position is called on the bench; nothing for none."""
    return "" if position is None else sheet.place_of(position, item)


def item_words(item: str | None) -> str:
    """Return an item, part or step name in words, starting with a capital."""
    return words_of(item)[:1].upper() + words_of(item)[1:] if item else ""


def candidate_words(sheet: JobSheet, candidate: Candidate, decimals: int = 0) -> str:
    """Return one possible meaning in words; only what differs is named, values in at least ``decimals``."""
    said: list[str] = []
    if candidate.item:
        said.append(words_of(candidate.item))
    if candidate.position:
        said.append(position_words(sheet, candidate.position, candidate.item))
    if candidate.value_exact is not None or candidate.value is not None:
        exact = candidate.value_exact if candidate.value_exact is not None else str(candidate.value)
        said.append(value_words(exact, candidate.unit, decimals))
    elif candidate.unit:
        said.append(SYMBOLS.get(candidate.unit, candidate.unit) or words_of(candidate.unit))
    said += [words_of(w) for w in (candidate.part, candidate.condition, candidate.action) if w]
    return " ".join(said) or (f"“{candidate.words}”" if candidate.words else "something else")


def plural(noun: str, number: int) -> str:
    """Return a noun as it goes with a number."""
    return noun if number == 1 else noun + "s"


def counted(number: int, noun: str) -> str:
    """Return a number with its noun, such as ``1 deviation`` or ``no questions``."""
    return f"{number or 'no'} {plural(noun, number)}"
