"""What the bench's screen shows besides talk: who is here, hold points, gauges, new parts."""

from __future__ import annotations

from pydantic import BaseModel

from api.live.bench_facts import BenchFacts
from api.report.wording import item_words
from shared.job_sheet import JobSheet


class Hold(BaseModel):
    """A step that needs a witness."""

    step: str
    what: str
    waits: bool
    state: str


class Fact(BaseModel):
    """A line."""

    text: str
    grave: bool = False


class FactsShown(BaseModel):
    """All of it."""

    here: list[str]
    holds: list[Hold]
    gauges: list[Fact]
    lots: list[Fact]


def facts_shown(facts: BenchFacts, sheet: JobSheet) -> FactsShown:
    """Return what is shown of a job's facts."""
    now_used = {use.kind: use for use in facts.gauges}
    return FactsShown(
        here=[name.rpartition(" (")[0] for name in facts.here],
        holds=[_hold(facts, step.step) for step in sheet.steps if step.hold],
        gauges=[
            Fact(
                text=f"{use.kind} {use.gauge}, {'calibration ended' if use.expired else 'calibrated until'} "
                f"{use.calibrated_until or 'further notice'}",
                grave=use.expired,
            )
            for use in now_used.values()
        ],
        lots=[Fact(text=f"{item_words(lot.part)}: {lot.what} {lot.code}") for lot in facts.lots],
    )


def _hold(facts: BenchFacts, step: str) -> Hold:
    if (witness := facts.witnessed.get(step)) is not None:
        known_by = facts.known_by[step].replace("pin", "PIN")
        state = f"witnessed by {witness.rpartition(' (')[0]}, known by {known_by}"
    elif step in facts.passed:
        state = "gone on without a witness: a deviation"
    else:
        state = "waits for a witness"
    waits = step not in facts.witnessed and step not in facts.passed
    return Hold(step=step, what=item_words(step), waits=waits, state=state)
