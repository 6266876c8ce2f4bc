"""What is said of a recording's sound: on the screen before work, and as remarks in the record."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import asdict
from typing import Any

from api.record_making import RECORDING_RULE, Remark
from api.report.wording import clock, counted
from capture.expected_hearing import Expected, ExpectedHearing
from capture.sound_check import SoundCheck

_CLASS_WORDS = {
    "quiet": "quiet",
    "some noise": "some noise",
    "noisy": "noisy; expect more questions than in a quiet room",
    "very noisy": "very noisy; expect many questions, and that words are lost",
}


def sound_lines(check: SoundCheck, table: ExpectedHearing | None) -> Iterator[str]:
    """Yield what to tell whoever is about to work with this sound, line by line.

    Args:
        check: of a trial recording.
        table: what the bench measured, None where it has not.
    """
    spoken = f"{counted(check.utterances, 'utterance')}, {check.speech_s:.0f} s of speech"
    yield f"length  {clock(check.length_s)}, {spoken}"
    if check.level_dbfs is not None and check.snr_db is not None and check.noise is not None:
        yield f"level   speech at {check.level_dbfs:.0f} dBFS, {100 * check.clipped_share:.1f} % clipped"
        yield f"noise   {check.snr_db:.0f} dB below the speech: {_CLASS_WORDS[check.noise]}"
    yield ""
    for finding in check.findings:
        yield f"✗ {finding.text}"
    if not check.findings:
        yield "✓ nothing to complain of"
    if check.snr_db is not None:
        yield ""
        yield from _expected_lines(check.snr_db, table)


def _expected_lines(snr_db: float, table: ExpectedHearing | None) -> Iterator[str]:
    if table is None:
        yield "What to expect of the offline engine in this noise has not been measured for this version."
        return
    level = table.at(snr_db)
    if level is None:
        yield (
            "Louder than anything the offline engine was measured in: do not rely on it here. Stop the noise"
            " or bring the microphone nearer."
        )
        return
    where = "in a quiet room" if level.snr_db is None else f"at {level.snr_db:g} dB"
    yield (
        f"The offline engine, measured {where} with synthetic voices on development talk ({table.date},"
        f" commit {table.commit[:9]}): {'; '.join(_figures(level))}. Yours may differ."
    )


def _figures(level: Expected) -> Iterator[str]:
    for share, what in (
        (level.words_wrong, "of the words wrong"),
        (level.numbers_right, "of the phrases with numbers heard right"),
        (level.readings_right, "of the readings filed right unasked"),
        (level.readings_asked, "asked about"),
    ):
        if share is not None:
            yield f"{100 * share:.0f} % {what}"
    bound = f"at most {100 * level.silently_wrong_at_most:.0f} %"
    yield f"{level.silently_wrong} of {level.filed_sure} filed unasked were wrong ({bound})"


def sound_json(check: SoundCheck, table: ExpectedHearing | None) -> dict[str, Any]:
    """Return the same for programs; lengths in seconds, levels in dBFS, ratios in dB, shares 0 to 1."""
    level = None if table is None or check.snr_db is None else table.at(check.snr_db)
    expected = None
    if table is not None and level is not None:
        expected = {**asdict(level), "date": table.date, "commit": table.commit}
    return {**asdict(check), "expected": expected}


def sound_remarks(check: SoundCheck) -> list[Remark]:
    """Return the remarks for the record; that nobody speaks is said elsewhere."""
    return [
        Remark(RECORDING_RULE, f"{finding.text[0].upper()}{finding.text[1:]}.")
        for finding in check.findings
        if finding.code != "no_speech"
    ]
