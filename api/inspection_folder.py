"""The folder that inspected pictures are written to: one folder a picture, nothing of others overwritten.

``inspection.json`` says which folder belongs to which picture, by name and content: the same picture again
goes where it was, another one of that name gets a folder of its own, and files that no inspection of this
program made are never touched.
"""

from __future__ import annotations

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import cv2

from api.work_folder import WorkFolder, held_folder
from capture.face.drawing import annotated, crops
from capture.face.inspection import Inspection
from capture.face.strip_drawing import strip_picture
from capture.picture_quality import Picture
from shared.errors import OutputForeign, OutputUnwritable

INDEX = "inspection.json"
_FORMAT = "witnessmark-inspection/1"
_JPEG_QUALITY = 88


class InspectionFolder:
    """An output folder of inspections that this process holds; see :func:`open_inspection_folder`."""

    def __init__(self, path: Path, names: dict[tuple[str, str], str]) -> None:
        self._folder = WorkFolder(path, taken_up=bool(names))
        self._names = names

    def write(self, picture: Path, sha256: str, inspection: Inspection) -> Path:
        """Write report, annotated picture, strip and crops of a picture, and return where they are.

        Args:
            picture: its file; only the name counts.
            sha256: of the file's bytes.
            inspection: what was found.

        Raises:
            OutputUnwritable: the disk is full, or the folder may not be written.
        """
        name = self._name_of(picture, sha256)
        place = self._folder.path / name
        for stale in place.glob("crop-*.jpg"):
            stale.unlink()
        report = inspection.report.model_dump_json(indent=2) + "\n"
        self._folder.write(f"{name}/report.json", report.encode())
        self._folder.write(f"{name}/annotated.jpg", jpeg(annotated(inspection)))
        strip = strip_picture(inspection)
        if strip is not None:
            self._folder.write(f"{name}/strip.jpg", jpeg(strip))
        marks = zip(inspection.marks, crops(inspection), strict=inspection.plane is not None)
        for number, (mark, crop) in enumerate(marks, 1):
            crop_name = f"crop-{number:02d}-{mark.kind}-{mark.angle_deg:03.0f}.jpg"
            self._folder.write(f"{name}/{crop_name}", jpeg(crop))
        return place

    def _name_of(self, picture: Path, sha256: str) -> str:
        key = (picture.name, sha256)
        if key not in self._names:
            self._names[key] = self._free_name(picture.stem or "picture")
            rows = [{"picture": p, "sha256": s, "folder": f} for (p, s), f in sorted(self._names.items())]
            index = {"format": _FORMAT, "pictures": rows}
            self._folder.write(INDEX, (json.dumps(index, indent=2, ensure_ascii=False) + "\n").encode())
        return self._names[key]

    def _free_name(self, stem: str) -> str:
        # Whatever the system makes of capitals: no two names that differ by them alone.
        taken = {name.lower() for name in self._names.values()}
        number, name = 1, stem
        while name.lower() in taken or (self._folder.path / name).exists():
            number += 1
            name = f"{stem}-{number}"
        return name


@contextmanager
def open_inspection_folder(path: Path) -> Iterator[InspectionFolder]:
    """Make or take up a folder of inspections and hold it until the block ends.

    Raises:
        OutputForeign: it holds files that are not of an inspection.
        OutputBusy: another process works in it.
        OutputUnwritable: it cannot be made or written.
    """
    with held_folder(path, INDEX):
        yield InspectionFolder(path, _index(path / INDEX))


def jpeg(picture: Picture) -> bytes:
    """Return a picture as the bytes of a JPEG file."""
    encoded, data = cv2.imencode(".jpg", picture, [cv2.IMWRITE_JPEG_QUALITY, _JPEG_QUALITY])
    assert encoded
    return data.tobytes()


def _index(file: Path) -> dict[tuple[str, str], str]:
    if not file.exists():
        return {}
    try:
        found = json.loads(file.read_bytes())
        if found["format"] != _FORMAT:
            raise ValueError(found["format"])
        names = {(row["picture"], row["sha256"]): row["folder"] for row in found["pictures"]}
    except OSError as exc:
        raise OutputUnwritable(f"cannot be read: {exc.strerror or exc}", where=str(file)) from exc
    except (ValueError, KeyError, TypeError) as exc:
        raise OutputForeign(
            f"{INDEX} is not of this program", where=str(file), remedy="choose another with --out"
        ) from exc
    if any(not isinstance(name, str) or Path(name).name != name for name in names.values()):
        raise OutputForeign(f"{INDEX} names a folder elsewhere", where=str(file), remedy="choose another")
    return names
