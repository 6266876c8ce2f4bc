"""Narration as text: one utterance a line, our narration YAML, or WebVTT captions, read into utterances.

Plain text and YAML need not carry times. Then nominal ones are counted (:data:`WORD_S` a word and
the pause after it), so that order and nearness in time keep their meaning; the engine name of such
utterances says that nobody measured them.
"""

from __future__ import annotations

import html
import re
import sys
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated

import yaml
from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError

from shared.errors import NarrationUnreadable
from shared.speech import Utterance

WORD_S = 0.4
"""Nominal duration of a word: 150 words a minute (common practice, no source)."""
PAUSE_S = 0.8
"""Nominal pause after an utterance that gives none."""
TIMED = "text"
"""Engine name of utterances whose times came with the text."""
UNTIMED = "text, nominal times"
"""Engine name of utterances whose times were counted."""

_LARGEST_BYTES = 5_000_000
# A time is either in brackets or has a colon, so that "12 thousandths" stays an utterance.
_CLOCK = r"(?:(\d{1,3}):)?(\d{1,3}):(\d{2}(?:[.,]\d{1,3})?)"
_LEADING_TIME = re.compile(rf"\s*(?:\[{_CLOCK}\]|{_CLOCK}(?=\s))\s*")
_CUE_TIMES = re.compile(rf"\s*{_CLOCK}\s+-->\s+{_CLOCK}(?:\s.*)?$")
_TAG = re.compile(r"<[^>]*>")


class _Said(BaseModel):
    """One entry of our narration YAML."""

    model_config = ConfigDict(extra="forbid")

    text: Annotated[str, Field(min_length=1)]
    pause_s: Annotated[float, Field(ge=0, allow_inf_nan=False)] = PAUSE_S
    start_s: Annotated[float, Field(ge=0, allow_inf_nan=False)] | None = None
    end_s: Annotated[float, Field(ge=0, allow_inf_nan=False)] | None = None


def read_narration(name: str) -> tuple[Utterance, ...]:
    """Read a narration file, or standard input when ``name`` is ``-``.

    Raises:
        NarrationUnreadable: no such file, not text, or no utterance in it.
    """
    if name == "-":
        return parse_narration(_decoded(sys.stdin.buffer.read(_LARGEST_BYTES + 1), "standard input"), "-")
    path = Path(name)
    try:
        with path.open("rb") as file:
            data = file.read(_LARGEST_BYTES + 1)
    except OSError as exc:
        raise NarrationUnreadable(
            f"cannot be read: {exc.strerror or exc}", where=name, expected="a text, YAML or WebVTT file"
        ) from exc
    return parse_narration(_decoded(data, name), path.name)


def parse_narration(text: str, name: str) -> tuple[Utterance, ...]:
    """Parse narration text; ``name`` becomes the recording of the utterances and is what errors call it.

    Raises:
        NarrationUnreadable: as :func:`read_narration`.
    """
    recording = "standard input" if name == "-" else name
    if text.startswith("WEBVTT"):
        said = list(_from_captions(text, recording))
    elif name.endswith((".yaml", ".yml")) or re.match(r"(?:\s*#.*\n|\s*\n)*-\s*(?:\{|text:)", text):
        said = list(_from_yaml(text, recording))
    else:
        said = list(_from_lines(text, recording))
    if not said:
        raise NarrationUnreadable(
            "there is no utterance in it", where=recording, expected="one utterance a line"
        )
    return tuple(said)


def _decoded(data: bytes, name: str) -> str:
    if len(data) > _LARGEST_BYTES:
        raise NarrationUnreadable(
            "larger than any narration", where=name, expected="at most 5 MB of text",
            remedy="for a recording use: witnessmark process",
        )  # fmt: skip
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as exc:
        raise NarrationUnreadable(
            f"not UTF-8 text (byte {exc.start})", where=name, expected="a text, YAML or WebVTT file",
            remedy="for a recording use: witnessmark process",
        ) from exc  # fmt: skip
    if "\0" in text:
        raise NarrationUnreadable(
            "holds zero bytes, so it is no text", where=name, expected="a text, YAML or WebVTT file",
            remedy="for a recording use: witnessmark process",
        )  # fmt: skip
    return text


def _from_lines(text: str, recording: str) -> Iterator[Utterance]:
    now_s = 0.0
    for raw in text.splitlines():
        line = raw.strip()
        if not line or line.startswith("#"):
            continue
        leading = _LEADING_TIME.match(line)
        words = line[leading.end() :] if leading else line
        if not words:
            continue
        start_s = _seconds(_clock_groups(leading)) if leading else now_s
        end_s = start_s + _nominal_s(words)
        yield Utterance(words, start_s, end_s, engine=TIMED if leading else UNTIMED, recording=recording)
        now_s = end_s + PAUSE_S


def _clock_groups(match: re.Match[str]) -> tuple[str | None, ...]:
    groups = match.groups()
    return groups[:3] if groups[2] is not None else groups[3:6]


def _seconds(clock: tuple[str | None, ...]) -> float:
    hours, minutes, seconds = clock
    return int(hours or 0) * 3600 + int(minutes or 0) * 60 + float((seconds or "0").replace(",", "."))


def _nominal_s(words: str) -> float:
    return round(len(words.split()) * WORD_S, 3)


def _from_yaml(text: str, recording: str) -> Iterator[Utterance]:
    expected = "a list of entries such as {text: front clearance, pause_s: 0.8}"
    try:
        content = yaml.safe_load(text)
    except yaml.YAMLError as exc:
        mark = getattr(exc, "problem_mark", None)
        line = f":{mark.line + 1}" if mark else ""
        raise NarrationUnreadable("not valid YAML", where=recording + line, expected=expected) from exc
    try:
        entries = TypeAdapter(list[_Said]).validate_python(content or [])
    except ValidationError as exc:
        first = exc.errors(include_url=False)[0]
        at = ".".join(str(part) for part in first["loc"])
        raise NarrationUnreadable(f"entry {at}: {first['msg']}", where=recording, expected=expected) from exc
    now_s = 0.0
    for entry in entries:
        start_s = now_s if entry.start_s is None else entry.start_s
        end_s = start_s + _nominal_s(entry.text) if entry.end_s is None else max(entry.end_s, start_s)
        engine = UNTIMED if entry.start_s is None else TIMED
        yield Utterance(entry.text, start_s, end_s, engine=engine, recording=recording)
        now_s = end_s + entry.pause_s


def _from_captions(text: str, recording: str) -> Iterator[Utterance]:
    """Yield the cues of a WebVTT file (W3C WebVTT 1; notes and styles are skipped)."""
    for block in re.split(r"\n{2,}", text.replace("\r\n", "\n").replace("\r", "\n")):
        lines = block.strip("\n").split("\n")
        for n, line in enumerate(lines[:2]):
            times = _CUE_TIMES.match(line)
            if times is None:
                continue
            words = html.unescape(_TAG.sub("", " ".join(lines[n + 1 :]))).split()
            start_s, end_s = _seconds(times.groups()[:3]), _seconds(times.groups()[3:6])
            if words:
                text_ = " ".join(words)
                yield Utterance(text_, start_s, max(start_s, end_s), engine=TIMED, recording=recording)
            break
