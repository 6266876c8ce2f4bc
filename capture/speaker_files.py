"""What is kept of enrolled speakers: a few figures and the transform, no sound and no words.

One folder a speaker below ``speakers`` in the cache folder, readable by its owner only; forgetting
removes it.
"""

from __future__ import annotations

import json
import re
import shutil
import tempfile
from dataclasses import dataclass
from pathlib import Path

from capture.engines.speaker import Enrolled
from capture.enrolment import Enrolment
from shared.errors import SettingError, SpeakerUnknown

_NAME = re.compile(r"[\w][\w .-]{0,60}")
_ABOUT, _TRANSFORM = "speaker.json", "transform.txt"


@dataclass(frozen=True)
class KnownSpeaker:
    """An enrolled speaker."""

    name: str
    folder: Path
    enrolled: Enrolled
    threshold: float | None
    """Below it a number of his is a question; None: as set for everybody."""


def keep_speaker(name: str, enrolment: Enrolment, cache_dir: Path) -> KnownSpeaker:
    """Keep what was learnt, in place of what was kept of him before.

    Raises:
        SettingError: a name that no folder can have.
    """
    folder = _folder(name, cache_dir)
    folder.parent.mkdir(parents=True, exist_ok=True)
    made = Path(tempfile.mkdtemp(prefix=".making-", dir=folder.parent))  # readable by its owner only
    about = {
        "name": name,
        "phrases": enrolment.phrases,
        "level_dbfs": enrolment.check.level_dbfs,
        "snr_db": enrolment.check.snr_db,
        "words": enrolment.words,
        "words_wrong": enrolment.words_wrong,
        "threshold": enrolment.threshold,
        "voice": enrolment.voice,
    }
    (made / _ABOUT).write_text(json.dumps(about, indent=1) + "\n", encoding="utf-8")
    if enrolment.transform is not None:
        enrolment.transform.write(made / _TRANSFORM)
    shutil.rmtree(folder, ignore_errors=True)
    made.rename(folder)
    return find_speaker(name, cache_dir)


def find_speaker(name: str, cache_dir: Path) -> KnownSpeaker:
    """Return an enrolled speaker.

    Raises:
        SpeakerUnknown: nobody of that name, or what was kept cannot be read.
        SettingError: a name that no folder can have.
    """
    folder = _folder(name, cache_dir)
    try:
        about = json.loads((folder / _ABOUT).read_text(encoding="utf-8"))
        threshold = about["threshold"]
        transform = folder / _TRANSFORM
        return KnownSpeaker(
            about["name"],
            folder,
            Enrolled(transform if transform.is_file() else None, tuple(map(float, about["voice"]))),
            None if threshold is None else float(threshold),
        )
    except (OSError, ValueError, KeyError, TypeError) as exc:
        known = ", ".join(speaker_names(cache_dir))
        raise SpeakerUnknown(
            f"no speaker {name!r} is enrolled" + ("" if known else ", and nobody else is"),
            expected=f"one of {known}" if known else "",
            remedy="see: witnessmark enrol --help",
        ) from exc


def forget_speaker(name: str, cache_dir: Path) -> None:
    """Remove everything that is kept of a speaker.

    Raises:
        SpeakerUnknown: nobody of that name.
    """
    shutil.rmtree(find_speaker(name, cache_dir).folder)


def check_name(name: str) -> None:
    """Refuse a name that no folder can have.

    Raises:
        SettingError: it is one.
    """
    if not _NAME.fullmatch(name):
        raise SettingError(
            f"{name!r} cannot be a speaker's name", expected="letters, digits, spaces, dots, - and _"
        )


def speaker_names(cache_dir: Path) -> list[str]:
    """Return who is enrolled, sorted."""
    return sorted(path.parent.name for path in (cache_dir / "speakers").glob(f"[!.]*/{_ABOUT}"))


def _folder(name: str, cache_dir: Path) -> Path:
    check_name(name)
    return cache_dir / "speakers" / name
