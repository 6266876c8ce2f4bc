"""Where the bundled rebuild is: in the installed program, or in the source tree."""

from __future__ import annotations

from pathlib import Path

from shared.errors import SoundNotFound

SHEET = "wash-water-end-suction"
_HERE = Path(__file__).parent
_PLACES = (
    (_HERE / "bundled_recording", _HERE / "bundled_photos"),
    (_HERE.parent / "fixtures" / "recordings", _HERE.parent / "fixtures" / "pictures" / SHEET),
)


def demo_files() -> tuple[Path, Path]:
    """Return the recording and the folder of photos.

    Raises:
        SoundNotFound: they did not come with this installation.
    """
    for recordings, photos in _PLACES:
        recording = recordings / f"{SHEET}.ogg"
        if recording.is_file() and photos.is_dir():
            return recording, photos
    raise SoundNotFound("the bundled rebuild is missing from this installation", remedy="install it again")
