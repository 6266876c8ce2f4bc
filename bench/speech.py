"""What the offline ear hears: words, numbers, readings, by voice and noise, beside two baselines.

``python -m bench speech`` scores the evaluation jobs. ``python -m bench.speech development`` scores
those that may be tuned on, ``former`` those that were evaluation once; ``--part quick`` a small part of
them, ``--part clean`` every job by every voice, in quiet alone.

A fractional design: every job in every noise, the voices taking turns, so that each voice meets each
noise. Real-time share is processor time of hearing (voice activity, suppression, all passes) over
the length of the recording.
"""

from __future__ import annotations

import argparse
import json
import os
import tempfile
import time
from collections.abc import Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from multiprocessing import get_context
from pathlib import Path
from typing import Any

from bench.speech_baselines import Baseline, general_baseline, template_baseline
from bench.speech_jobs import SpokenJob, development_jobs, evaluation_jobs, former_evaluation_jobs
from bench.speech_plot import reliability_plot, reliability_table
from bench.speech_scoring import Score, score_record, score_words
from bench.speech_sound import RATES, Condition, record_job
from capture.engines.sphinx import SphinxEngine
from capture.segments import Segment
from shared.speech import Utterance

RESULTS = Path(__file__).parents[1] / "bench-results"
VOICES = ("rms", "slt", "awb")
#: Spoken by a formant voice, reported apart.
HARD_VOICE = "kal16"
NOISES_DB = (None, 15.0, 10.0, 5.0)
_CORES = 2
_SETS = {
    "development": development_jobs,
    "former": former_evaluation_jobs,
    "evaluation": evaluation_jobs,
}


@dataclass(frozen=True)
class Task:
    """One job in one condition."""

    data: str
    job: str
    condition: Condition
    baselines: bool = False


@dataclass
class Result:
    """What came of it."""

    task: Task
    score: Score
    general: Score
    templates: Score


def design(jobs: Sequence[str], data: str, *, part: str = "whole") -> list[Task]:
    """Return which job is spoken how; ``part`` is whole, quick or clean."""
    if part == "clean":
        return _in_quiet(jobs, data)
    quick = part == "quick"
    tasks = []
    noises = NOISES_DB[:2] if quick else NOISES_DB
    for j, job in enumerate(jobs):
        for n, noise in enumerate(noises):
            if n >= 2 and (j + n) % 2:
                continue  # every other job in the louder noises
            voice = VOICES[(j + n) % len(VOICES)]
            condition = Condition(voice, RATES[(j + 2 * n) % len(RATES)], noise, 100 * j + n + 1)
            tasks.append(Task(data, job, condition, baselines=noise is None and j % 3 == 0 and not quick))
    if not quick:
        tasks.append(Task(data, jobs[0], Condition(HARD_VOICE, 1.0, None, 99)))
    return tasks


def _in_quiet(jobs: Sequence[str], data: str) -> list[Task]:
    return [
        Task(data, job, Condition(voice, RATES[(j + v) % len(RATES)], None, 1000 + 10 * j + v))
        for j, job in enumerate(jobs)
        for v, voice in enumerate(VOICES)
    ]


def measure(data: str = "evaluation", *, part: str = "whole") -> dict[str, Any]:
    """Score a set of jobs and return the figures."""
    names = [job.name for job in _jobs(data)]
    if part == "quick":
        names = names[::3]
    tasks = design(names, data, part=part)
    with ProcessPoolExecutor(min(_CORES, os.cpu_count() or 1), get_context("spawn")) as pool:
        results = list(pool.map(run_task, tasks))
    return _report(data, results)


def _jobs(data: str) -> list[SpokenJob]:
    return _SETS[data]()


def run_task(task: Task) -> Result:
    """Speak, hear and score one job in one condition."""
    job = next(job for job in _jobs(task.data) if job.name == task.job)
    recorded = record_job(job.lines, task.condition)
    engine = SphinxEngine(job.sheet, _vocabulary_cache())
    engine.hear(recorded.segments[0])  # models are loaded
    began = time.process_time()
    utterances = hear_all(engine, recorded.segments)
    cpu_s = time.process_time() - began + recorded.cutting_s
    score = score_words(recorded.spoken, utterances)
    score.add(score_record(job, recorded.spoken, utterances))
    score.cpu_s, score.audio_s = cpu_s, recorded.length_s
    general, templates = Score(), Score()
    if task.baselines:
        general = score_words(recorded.spoken, _heard_by(general_baseline(), recorded.segments))
        with tempfile.TemporaryDirectory() as folder:
            narrow = _heard_by(template_baseline(job.sheet, Path(folder)), recorded.segments)
        templates = score_words(recorded.spoken, narrow)
        templates.add(score_record(job, recorded.spoken, narrow))
    return Result(task, score, general, templates)


def hear_all(engine: SphinxEngine, segments: Sequence[Segment]) -> list[Utterance]:
    """Hear segments in order, leaving out those in which nothing was said."""
    return [heard for heard in map(engine.hear, segments) if heard is not None]


def _heard_by(baseline: Baseline, segments: Sequence[Segment]) -> list[Utterance]:
    return [heard for heard in map(baseline.hear, segments) if heard is not None]


def _vocabulary_cache() -> Path:
    return Path(tempfile.gettempdir()) / "witnessmark-bench-vocabulary"


def _report(data: str, results: Sequence[Result]) -> dict[str, Any]:
    usual = [r for r in results if r.task.condition.voice != HARD_VOICE]
    total = _sum(r.score for r in usual)
    report: dict[str, Any] = {"data": data, "jobs": sorted({r.task.job for r in results})}
    for noise in dict.fromkeys(r.task.condition.noise for r in usual):
        report[noise] = _sum(r.score for r in usual if r.task.condition.noise == noise).figures()
    report["voices"] = {
        voice: _by_noise([r for r in results if r.task.condition.voice == voice])
        for voice in (*VOICES, HARD_VOICE)
    }
    report["all"] = total.figures()
    report["baselines, clean"] = _baselines(results)
    report["reliability"] = reliability_table(total.reliability)
    RESULTS.mkdir(exist_ok=True)
    path = RESULTS / f"reliability-{data}.svg"
    path.write_text(reliability_plot(total.reliability), encoding="utf-8")
    report["reliability_plot"] = str(path)
    if data != "evaluation":
        report["faults"] = total.faults
    return report


def _by_noise(results: Sequence[Result]) -> dict[str, str]:
    shown = {}
    for noise in dict.fromkeys(r.task.condition.noise for r in results):
        figures = _sum(r.score for r in results if r.task.condition.noise == noise).figures()
        shown[noise] = (
            f"words wrong {_percent(figures['word_error_rate'])}, "
            f"numbers {_percent(figures['number_lines_right'])}, "
            f"readings {_percent(figures['readings_right'])}, silently wrong {figures['silently_wrong']}"
        )
    return shown


def _percent(share: float | None) -> str:
    return "-" if share is None else f"{100 * share:.1f} %"


def _baselines(results: Sequence[Result]) -> dict[str, Any]:
    with_them = [r for r in results if r.task.baselines]
    wanted = ("word_error_rate", "number_lines_right", "readings_right", "silently_wrong")
    scores = {
        "ours on the same": _sum(r.score for r in with_them),
        "general model alone": _sum(r.general for r in with_them),
        "templates alone": _sum(r.templates for r in with_them),
    }
    return {name: {key: score.figures()[key] for key in wanted} for name, score in scores.items()}


def _sum(scores: Any) -> Score:
    total = Score()
    for score in scores:
        total.add(score)
    return total


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("data", choices=tuple(_SETS))
    parser.add_argument("--part", choices=("whole", "quick", "clean"), default="whole")
    chosen = parser.parse_args()
    print(json.dumps(measure(chosen.data, part=chosen.part), indent=1))
