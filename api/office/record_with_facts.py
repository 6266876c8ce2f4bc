"""What happened at the bench besides talk, laid into the record: gauges, witnesses, lots, who did the work.

The draft stays as it was extracted; the facts are read off the job's chain each time, like the decisions.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from api.live.bench_facts import BenchFacts, GaugeUse, PartLot, place_of
from api.report.wording import item_words
from shared.job_sheet import JobSheet
from shared.record import DeviationEntry, Evidence, PartEntry, ReadingEntry, RebuildRecord, StepEntry

#: The rule that such a deviation is found by.
RULE = "bench"
#: What a new part is when its lot is told.
_NEW = frozenset({"renewed", "fitted"})


def with_facts(record: RebuildRecord, sheet: JobSheet, facts: BenchFacts) -> RebuildRecord:
    """Return a record with gauges, witnesses, serial numbers and lots of the bench in it.

    Args:
        record: as extracted; it is left as it is.
        sheet: of the job.
        facts: of the bench.
    """
    changed = record.model_copy(deep=True)
    for reading in changed.readings:
        if (use := _gauge_of(reading, sheet, facts)) is not None:
            reading.gauge = f"{use.kind} {use.gauge}"
    for step in changed.steps:
        if step.done and step.step in facts.witnessed:
            step.witness = facts.witnessed[step.step].rpartition(" (")[0]
    for lot in facts.lots:
        if (entry := _new_part(changed, lot)) is not None:
            # The contract has one field for what a new part is known by; a lot says that it is one.
            entry.serial = lot.code if lot.what == "serial" else f"lot {lot.code}"
    if facts.people:
        changed.job.technician = ", ".join(name.rpartition(" (")[0] for name in facts.people)
    return changed


def besides_talk(sheet: JobSheet, facts: BenchFacts) -> Callable[[RebuildRecord], Sequence[DeviationEntry]]:
    """Return what finds the deviations of a record that follow from more than its words."""

    def found(record: RebuildRecord) -> Sequence[DeviationEntry]:
        return [*_unwitnessed(record, sheet, facts), *_out_of_calibration(record, sheet, facts)]

    return found


def _unwitnessed(record: RebuildRecord, sheet: JobSheet, facts: BenchFacts) -> Iterator[DeviationEntry]:
    holds = {step.step for step in sheet.steps if step.hold}
    for entry in record.steps:
        if not _is_done(entry) or entry.step not in holds or entry.step in facts.witnessed:
            continue
        text = f"{item_words(entry.step)}: done without the badge of a witness"
        if entry.witness is not None:
            text += f" ({entry.witness} was named)"
        if (by := facts.passed.get(entry.step)) is not None:
            text += f"; {by.rpartition(' (')[0]} went on"
        yield DeviationEntry(
            id="", evidence=_evidence(entry.evidence), kind="against_policy", step=entry.step, text=text
        )


def _is_done(entry: StepEntry) -> bool:
    return entry.standing and entry.done and not entry.needs_review


def _out_of_calibration(
    record: RebuildRecord, sheet: JobSheet, facts: BenchFacts
) -> Iterator[DeviationEntry]:
    """Tell of each item once whose standing readings were read with a gauge out of calibration."""
    told: set[str] = set()
    for reading in record.readings:
        use = _gauge_of(reading, sheet, facts)
        if use is None or not use.expired or not reading.standing or reading.item in told:
            continue
        told.add(reading.item)
        yield DeviationEntry(
            id="", evidence=_evidence(reading.evidence), kind="against_policy", item=reading.item,
            text=f"{item_words(reading.item)}: read with {use.kind} {use.gauge}, whose calibration ended "
            f"{use.calibrated_until}",
        )  # fmt: skip


def _gauge_of(reading: ReadingEntry, sheet: JobSheet, facts: BenchFacts) -> GaugeUse | None:
    """Return the gauge of the register that a reading was taken with, as far as anybody told."""
    measured, place = sheet.measured.get(reading.item), place_of(reading.evidence)
    if measured is None or measured.gauge is None or place is None:
        return None
    before = [use for use in facts.gauges if use.kind == measured.gauge and use.since <= place]
    if not before:
        return None
    # What was said is written down when the recording is over: the order of events is not that of use.
    last = sorted(before, key=lambda use: use.since)[-1]
    # A gauge named aloud that the register does not have was told later than any of these: it stands as said.
    known = {use.said for use in before} | {f"{use.kind} {use.gauge}" for use in before}
    return last if reading.gauge is None or reading.gauge in known else None


def _new_part(record: RebuildRecord, lot: PartLot) -> PartEntry | None:
    """Return the entry of the new part that a lot is of: the last one said, whenever it was held up."""
    fitted = [one for one in record.parts if one.part == lot.part and one.action in _NEW and one.standing]
    return fitted[-1] if fitted else None


def _evidence(evidence: Evidence) -> Evidence:
    return evidence.model_copy(update={"rule": RULE, "repairs": []})
