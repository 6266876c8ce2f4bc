"""What the offline ear may be expected to hear in a noise: figures that the bench measured, never typed.

``expected_hearing.yaml`` is written by ``python -m bench.expected_hearing`` from development talk spoken
by free voices. Until it is, nothing is expected.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from shared.data_files import read_data

TABLE = Path(__file__).parent / "expected_hearing.yaml"
#: From this estimate on a recording is compared with what was measured in a quiet room.
_QUIET_FROM_DB = 25.0
#: How far the estimate of a noise may be off (tests/capture/test_noise.py).
_ESTIMATE_OFF_DB = 3.0


@dataclass(frozen=True, slots=True)
class Expected:
    """Shares measured at one level of noise, 0 to 1; None where there was nothing to measure."""

    snr_db: float | None
    """Speech while speaking over the noise; None: a quiet room."""
    words_wrong: float | None
    numbers_right: float | None
    """Phrases with numbers in which every number word came out right."""
    readings_right: float | None
    """Readings that were filed right without a question."""
    readings_asked: float | None
    filed_sure: int
    silently_wrong: int
    silently_wrong_at_most: float
    """Exact upper bound of their share among those filed sure (Clopper and Pearson, 95 %, one-sided)."""


@dataclass(frozen=True)
class ExpectedHearing:
    """The table, and where its figures come from."""

    date: str
    commit: str
    command: str
    levels: tuple[Expected, ...]
    """From quiet to loud."""

    def at(self, snr_db: float) -> Expected | None:
        """Return the level that a recording is to be compared with: the nearest that is no quieter than it.

        Args:
            snr_db: estimated of the recording.

        Returns:
            None where it is louder than anything that was measured.
        """
        if snr_db >= _QUIET_FROM_DB:
            return next((level for level in self.levels if level.snr_db is None), None)
        below = [
            level
            for level in self.levels
            if level.snr_db is not None and level.snr_db <= snr_db + _ESTIMATE_OFF_DB
        ]
        return max(below, key=lambda level: level.snr_db or 0.0, default=None)


def load_expected_hearing(path: Path = TABLE) -> ExpectedHearing | None:
    """Read the table; None where the bench has not written one."""
    if not path.is_file():
        return None
    content = read_data(path)
    levels = tuple(Expected(**level) for level in content["levels"])
    return ExpectedHearing(content["date"], content["commit"], content["command"], levels)
