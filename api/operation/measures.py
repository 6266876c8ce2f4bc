"""What is counted and timed while the server runs, in the form that Prometheus reads.

Nothing is told by job, person or words: what varies is the route, the stage, the engine.
"""

from __future__ import annotations

from collections.abc import Mapping

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, ProcessCollector

from api.version import program_version
from shared.record import RebuildRecord

#: Upper bounds, seconds: from what nobody notices to what nobody waits for.
_REQUEST_S = (0.01, 0.025, 0.05, 0.1, 0.2, 0.3, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0)
_STAGE_S = (0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 0.5, 1.0, 2.0, 4.0, 8.0, 16.0, 32.0)


class Measures:
    """The counters of one server."""

    def __init__(self) -> None:
        self.registry = CollectorRegistry()
        ProcessCollector(registry=self.registry)
        self._requests = Histogram(
            "witnessmark_request_seconds", "Time to answer a request, by route.",
            ("route", "method", "status"), buckets=_REQUEST_S, registry=self.registry,
        )  # fmt: skip
        self._stages = Histogram(
            "witnessmark_stage_seconds",
            "Time of a stage at the bench: saving (to the disk), hearing, reading, telling (from the last "
            "sound of a phrase coming in to its entries being told).",
            ("stage",), buckets=_STAGE_S, registry=self.registry,
        )  # fmt: skip
        self._readings = Counter(
            "witnessmark_readings", "Readings filed in recordings that ended.", ("engine",),
            registry=self.registry,
        )  # fmt: skip
        self._questions = Counter(
            "witnessmark_questions", "Questions left in recordings that ended.", ("engine",),
            registry=self.registry,
        )  # fmt: skip
        self._per_100 = Gauge(
            "witnessmark_questions_per_100_readings", "Questions to 100 readings since the server started.",
            ("engine",), registry=self.registry,
        )  # fmt: skip
        self._ears = Counter(
            "witnessmark_ears_ready", "Ears that began to hear, by engine.", ("engine",),
            registry=self.registry,
        )  # fmt: skip
        self._failed = Counter(
            "witnessmark_ears_failed", "Ears that gave up on a recording.", registry=self.registry
        )
        self._program = Gauge(
            "witnessmark_program_info", "1, for the version that runs.", ("version",), registry=self.registry
        )
        self._program.labels(program_version()).set(1)
        self._counted: dict[str, list[int]] = {}

    def answered(self, route: str, method: str, status: int, seconds: float) -> None:
        """Count a request.

        Args:
            route: as it is declared (``/bench/{job_id}``).
            method: of HTTP.
            status: of HTTP.
            seconds: it took.
        """
        self._requests.labels(route, method, f"{status // 100}xx").observe(seconds)

    def took(self, stage: str, seconds: float) -> None:
        """Count how long a stage took, seconds."""
        self._stages.labels(stage).observe(seconds)

    def ear_ready(self, engine: str) -> None:
        """Count an ear that hears."""
        self._ears.labels(engine).inc()

    def ear_failed(self) -> None:
        """Count an ear that gave up."""
        self._failed.inc()

    def recorded(self, engine: str, counts: Mapping[str, int]) -> None:
        """Count what a recording came to, as :func:`counts_of` says."""
        self._readings.labels(engine).inc(counts["readings"])
        self._questions.labels(engine).inc(counts["questions"])
        so_far = self._counted.setdefault(engine, [0, 0])
        so_far[0] += counts["readings"]
        so_far[1] += counts["questions"]
        if so_far[0]:
            self._per_100.labels(engine).set(100 * so_far[1] / so_far[0])


def counts_of(record: RebuildRecord, recording: str) -> dict[str, int]:
    """Return how many readings stand and how many questions are open that one recording of a job made.

    Args:
        record: of the job, over all of its recordings.
        recording: its name in the record ("002").
    """
    return {
        "readings": sum(one.standing and one.evidence.recording == recording for one in record.readings),
        "questions": sum(
            one.answered_by is None and one.evidence.recording == recording for one in record.questions
        ),
    }
