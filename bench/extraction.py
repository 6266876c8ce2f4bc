"""From words to entries on whole jobs: nobody tunes to the first set; its words are never shown.

The jobs of ``fixtures/evaluation`` and ``fixtures/former_evaluation`` against their records, and the
labelled jobs of ``tests/extract/data``; the last two sets are worked on. Each in words and as a printing
recogniser shows them.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from typing import Any

from bench.record_scoring import Counts, Totals, score_record
from bench.speech_scoring import upper_bound
from extract.record_builder import RecordBuilder
from fixtures.evaluation.evaluation_files import EVALUATION_JOBS, FORMER_JOBS, read_evaluation_job
from shared.speech import Utterance
from tests.extract.bench_jobs import DATA, FRESH, Score, folder_of, jobs_in, score_job

_SPOKEN_S = 3.0


def measure() -> dict[str, Any]:
    """Return the figures of both sets and forms as plain data."""
    return {
        "evaluation jobs, words": _evaluation(EVALUATION_JOBS, printed=False),
        "evaluation jobs, print": _evaluation(EVALUATION_JOBS, printed=True),
        "former evaluation jobs, words": _evaluation(FORMER_JOBS, printed=False),
        "former evaluation jobs, print": _evaluation(FORMER_JOBS, printed=True),
        "labelled jobs, words": _labelled(printed=False),
        "labelled jobs, print": _labelled(printed=True),
    }


def _evaluation(names: Sequence[str], *, printed: bool) -> dict[str, Any]:
    totals = Totals()
    spent_s = 0.0
    for name in names:
        job = read_evaluation_job(name)
        lines = job.printed if printed else job.lines
        builder = RecordBuilder(job.sheet)
        builder.hear(Utterance("good morning", 0.0, 0.0))
        builder = RecordBuilder(job.sheet)
        now_s = 0.0
        started = time.process_time()
        for line in lines:
            builder.hear(Utterance(line.text, now_s, now_s + _SPOKEN_S))
            now_s += _SPOKEN_S + line.pause_s
        spent_s += time.process_time() - started
        totals.add(score_record(builder, job.expected, job.utterance_of, len(lines)))
    return {**figures(totals), "utterances a second": round(totals.utterances / spent_s)}


def figures(totals: Totals) -> dict[str, Any]:
    """Return totals as shares, with the exact upper bound (95 %) on silent errors."""
    silent, sure = totals.silently_wrong, totals.sure_given
    bound = upper_bound(silent, sure) if sure else None
    return {
        "utterances exact": _of(totals.exact, totals.utterances),
        "readings right": _of(totals.right, totals.readings),
        "readings asked, missed": f"{totals.asked}, {totals.missed}",
        "silently wrong": f"{silent} of {sure} filed sure"
        + (f", at most {1000 * bound:.0f} in 1000" if bound is not None else ""),
        "needless questions in 100": round(100 * totals.needless / max(totals.readings, 1), 1),
        "conditions and decisions": _rates(totals.findings),
        **{name: _rates(counts) for name, counts in sorted(totals.fields.items())},
        "chatter with an entry": f"{totals.chatter_entries} of {totals.chatter}",
    }


def _labelled(*, printed: bool) -> dict[str, Any]:
    total = Score()
    for name in (*jobs_in(DATA), *jobs_in(FRESH)):
        if not printed or (folder_of(name) / f"{name}.print.yaml").exists():
            total.add(score_job(name, printed=printed))
    sure = total.readings_right + total.silently_wrong
    return {
        "utterances exact": _of(total.exact, total.utterances),
        "readings right": _of(total.readings_right, total.readings),
        "silently wrong": f"{total.silently_wrong} of {sure} filed sure, "
        f"at most {1000 * upper_bound(total.silently_wrong, sure):.0f} in 1000",
        "needless questions in 100": round(
            100 * (total.asked - total.asked_rightly) / max(total.readings, 1), 1
        ),
        "conditions and decisions": f"P {total.precision:.3f} R {total.recall:.3f} F1 {total.f1:.3f}",
        "chatter with an entry": f"{total.chatter_entries} of {total.chatter}",
    }


def _of(part: int, whole: int) -> str:
    return f"{part} of {whole}" + (f" ({100 * part / whole:.1f} %)" if whole else "")


def _rates(counts: Counts) -> str:
    shown = counts.figures()
    return " ".join(
        f"{name} {value:.3f}" if value is not None else f"{name} -"
        for name, value in zip(("P", "R", "F1"), shown.values(), strict=True)
    )
