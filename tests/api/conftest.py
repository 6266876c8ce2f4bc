"""A record with one of everything, made by hand so that the report's tests need neither ear nor extractor;
and what is needed to process recordings in tests, and logging as the server sets it up.
"""

from __future__ import annotations

import io
import json
import logging
import threading
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from api.cli import run
from api.operation.log_lines import write_json_lines
from capture.sound import RATE_HZ
from shared.job_sheet import JobSheet, load_job_sheet
from shared.photo import PictureQuality
from shared.record import (
    Candidate,
    ConditionEntry,
    ConsumableEntry,
    DeviationEntry,
    EventEntry,
    Evidence,
    Job,
    MadeBy,
    Missing,
    NoteEntry,
    PartEntry,
    PhotoEntry,
    Question,
    ReadingEntry,
    RebuildRecord,
    StepEntry,
    UnfiledNumber,
)
from tests.api.processing import RECORDING, SCRIPT, SHEET, Process, write_wav
from tests.recorded_sound import recorded_sound


@pytest.fixture(scope="session")
def talk(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The first 35 seconds of a fixture: seven utterances."""
    sound = recorded_sound(RECORDING)[: 35 * RATE_HZ]
    return write_wav(tmp_path_factory.mktemp("talk") / "talk.wav", sound)


@pytest.fixture(scope="session")
def script(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("script") / "script.json"
    path.write_text(json.dumps(SCRIPT))
    return path


@pytest.fixture
def process(tmp_path: Path, script: Path) -> Process:
    """Run ``witnessmark process`` with the scripted engine into ``tmp_path/out``."""

    def run_it(recording: Path | str, *more: str, sheet: str = SHEET, out: Path | None = None) -> int:
        folder = str(out or tmp_path / "out")
        engine = [] if "--engine" in more else ["--engine", "scripted", "--model", str(script)]
        return run(["process", str(recording), "--sheet", sheet, "--out", folder, *engine, *more])

    return run_it


def heard(utterance: int, words: str, *, rule: str = "test", confidence: float = 0.93) -> Evidence:
    start_s = 12.0 * utterance
    return Evidence(
        recording="rebuild.ogg",
        utterance=utterance,
        start_s=start_s,
        end_s=start_s + 2.5,
        words=words,
        engine="pocketsphinx",
        confidence=confidence,
        rule=rule,
    )


def reading(n: int, item: str, value: str | None, verdict: str, words: str, **more: object) -> ReadingEntry:
    fields: dict[str, object] = {
        "id": f"r{n}",
        "evidence": heard(n, words),
        "item": item,
        "stage": "as_left",
        "unit": "in",
        "value": None if value is None else float(value),
        "value_exact": value,
        "verdict": verdict,
    }
    return ReadingEntry.model_validate({**fields, **more})


@pytest.fixture
def sheet() -> JobSheet:
    return load_job_sheet("wash-water-end-suction")


@pytest.fixture
def record() -> RebuildRecord:
    """Everything that a record can hold, each kind at least once."""
    either = [
        Candidate(value=0.013, value_exact="0.013", unit="in"),
        Candidate(value=0.03, value_exact="0.030", unit="in"),
    ]
    return RebuildRecord(
        made_by=MadeBy(
            version="0.1.0",
            engine="pocketsphinx",
            model="en-us with the sheet's words",
            hashes={"sheet": "ab" * 32},
        ),
        job=Job(
            work_order="5027",
            pump_tag="P-412",
            pump_serial="GW8831",
            sheet_id="wash-water-end-suction",
            sheet_revision="3",
        ),
        readings=[
            reading(
                3,
                "shaft_runout",
                "0.001",
                "within",
                "runout at the seal one thou",
                stage="as_found",
                position="seal_area",
            ),
            reading(
                4,
                "shaft_runout",
                "0.0015",
                "within",
                "at the impeller a thou and a half",
                stage="as_found",
                position="impeller_end",
            ),
            reading(
                5,
                "shaft_runout",
                "0.0019",
                "undecided",
                "coupling end nineteen tenths",
                stage="as_found",
                position="coupling_end",
            ),
            reading(
                6,
                "bearing_journal",
                "1.7721",
                "within",
                "inboard one point seven seven two one",
                stage="as_found",
                position="inboard",
            ),
            reading(
                7,
                "sleeve_diameter",
                "1.871",
                "outside",
                "sleeve o d one eight seven one oh",
                stage="as_found",
            ),
            reading(10, "front_clearance", "0.016", "within", "one sixteen", position="1"),
            reading(
                11,
                "front_clearance",
                "0.018",
                "within",
                "two is eighteen",
                position="2",
                superseded_by="r12",
                superseded_why="corrected",
            ),
            reading(12, "front_clearance", "0.019", "within", "wait vane two was nineteen", position="2"),
            reading(
                13,
                "front_clearance",
                None,
                "undecided",
                "three thirteen or thirty",
                position="3",
                needs_review=True,
                reason="thirteen or thirty",
                candidates=either,
            ),
            reading(
                14, "front_clearance", "0.025", "outside", "four is twenty five that's over", position="4"
            ),
            reading(
                16,
                "impeller_bolt_torque",
                "70",
                "within",
                "impeller bolt seventy foot pounds",
                unit="ft_lb",
                gauge="torque wrench TW-07",
            ),
            reading(17, "shim_pack", "0.039", "within", "shim pack is now thirty nine", stage="either"),
            reading(
                18, "leak_test_pressure", "25", "within", "leak test pressure twenty five psi", unit="psi"
            ),
        ],
        conditions=[
            ConditionEntry(
                id="c1",
                evidence=heard(1, "carbon's chipped right about two o'clock"),
                part="rotating_face",
                condition="chipped",
                location="two o'clock",
            ),
            ConditionEntry(
                id="c2",
                evidence=heard(2, "sight glass was cracked"),
                part="sight_glass",
                condition="cracked",
                unlisted=True,
                needs_review=True,
                reason="not on the sheet",
            ),
        ],
        parts=[
            PartEntry(id="p1", evidence=heard(20, "put in a new seal"), part="seal", action="renewed"),
            PartEntry(
                id="p2",
                evidence=heard(21, "old lip seals are going back in"),
                part="lip_seals",
                action="reused",
            ),
            PartEntry(
                id="p3",
                evidence=heard(22, "casing gasket's going back in"),
                part="casing_gasket",
                action="reused",
                superseded_by="e2",
                superseded_why="struck",
            ),
        ],
        consumables=[
            ConsumableEntry(
                id="k1",
                evidence=heard(23, "new impeller bolt with thread locker on it"),
                name="thread_locker",
                applied_to="impeller_bolt",
            )
        ],
        steps=[
            StepEntry(id="s1", evidence=heard(0, "it's locked out and tagged"), step="isolation_verified"),
            StepEntry(id="s2", evidence=heard(27, "air test done"), step="leak_test"),
        ],
        photos=[
            PhotoEntry(
                id="f1",
                evidence=heard(8, "picture of the impeller"),
                of="impeller",
                stage="as_found",
                picture="pictures/impeller.jpg",
                quality=PictureQuality(usable=True, sharpness=220.0, dark_share=0.01, bright_share=0.0),
            ),
            PhotoEntry(
                id="f2",
                evidence=heard(9, ""),
                of="stationary_seat",
                stage="as_found",
                picture="pictures/seat.jpg",
                quality=PictureQuality(
                    usable=False,
                    reasons=["out_of_focus"],
                    advice="Hold still and let the camera focus.",
                    sharpness=4.0,
                    dark_share=0.2,
                    bright_share=0.0,
                ),
            ),
        ],
        notes=[
            NoteEntry(
                id="n1",
                evidence=heard(24, "note for the next man the coupling guard is cracked", rule="note"),
                text="the coupling guard is cracked",
            )
        ],
        deviations=[
            DeviationEntry(
                id="d1",
                evidence=heard(14, "four is twenty five that's over"),
                kind="out_of_tolerance",
                item="front_clearance",
                position="4",
                text="Front clearance at vane four 0.025 in, allowed 0.012 to 0.024 in",
            ),
            DeviationEntry(
                id="d2",
                evidence=heard(21, "old lip seals are going back in"),
                kind="against_policy",
                part="lip_seals",
                text="Lip seals reused; the sheet says renew",
            ),
            DeviationEntry(
                id="d3",
                evidence=heard(25, "i'm declaring a deviation on the back clearance"),
                kind="declared",
                item="back_clearance",
                text="back clearance: the engineer wants to run it that way",
                disposition="use_as_is",
                disposition_by="R. Reviewer",
                disposition_at="2026-11-25",
                disposition_why="agreed with the plant",
            ),
        ],
        missing=[
            Missing(kind="reading", item="front_clearance", position="5", moment_s=170.0),
            Missing(kind="part_decision", part="outboard_bearing"),
            Missing(kind="photo", of="rotating_face", moment_s=12.0),
            Missing(kind="step", step="rotate_by_hand"),
        ],
        questions=[
            Question(
                id="q1",
                text="Front clearance at vane three: thirteen or thirty thousandths?",
                about="r13",
                candidates=either,
                evidence=heard(13, "three thirteen or thirty"),
            )
        ],
        unfiled_numbers=[
            UnfiledNumber(
                words="close to ninety foot pounds",
                value=90,
                unit="ft_lb",
                reason="breaking loose is no reading",
                evidence=heard(2, "needed close to ninety foot pounds to bust it loose"),
            )
        ],
        events=[
            EventEntry(
                id="e1", event="snapshot", part="impeller", evidence=heard(8, "picture of the impeller")
            ),
            EventEntry(id="e2", event="strike_last", evidence=heard(22, "scratch that")),
        ],
    )


@pytest.fixture
def lines() -> Iterator[Callable[[], list[dict[str, Any]]]]:
    """Write JSON lines from here on; return all that came."""
    root, hook, raising = logging.getLogger(), threading.excepthook, logging.raiseExceptions
    handlers, level = list(root.handlers), root.level
    written = io.StringIO()
    write_json_lines("info", written)
    yield lambda: [json.loads(line) for line in written.getvalue().splitlines()]
    root.handlers[:] = handlers
    root.setLevel(level)
    logging.captureWarnings(False)
    logging.raiseExceptions = raising
    threading.excepthook = hook
