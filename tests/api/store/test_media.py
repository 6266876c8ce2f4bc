"""The media store keeps files by name, in a folder and over HTTP in an S3 store, and checks what it gives."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from api.store.media import MediaStore, recording_name
from shared.errors import MediaDamaged, MediaUnusable

WHAT = b"twelve shims " * 700_000
"""More than goes into one piece, on the way in and out."""


@pytest.fixture(params=["folder", "s3"])
def media(request: pytest.FixtureRequest, tmp_path: Path) -> MediaStore:
    if request.param == "folder":
        return MediaStore(str(tmp_path / "media"))
    return MediaStore(request.getfixturevalue("s3_url"))


@pytest.fixture
def file(tmp_path: Path) -> Path:
    path = tmp_path / "a.wav"
    path.write_bytes(WHAT)
    return path


def test_what_is_put_comes_back_the_same(media: MediaStore, file: Path, tmp_path: Path) -> None:
    digest = media.put("jobs/put/a.wav", file)
    assert digest == hashlib.sha256(WHAT).hexdigest() == media.sha256_of("jobs/put/a.wav")
    media.fetch("jobs/put/a.wav", tmp_path / "back" / "b.wav", sha256=digest)
    assert (tmp_path / "back" / "b.wav").read_bytes() == WHAT
    assert media.names("jobs/put") == ["jobs/put/a.wav"]
    assert media.holds("jobs/put/a.wav", len(WHAT))
    assert not media.holds("jobs/put/a.wav", len(WHAT) - 1)
    assert not media.holds(recording_name(digest), len(WHAT))


def test_something_else_under_the_name_is_not_taken(media: MediaStore, file: Path, tmp_path: Path) -> None:
    media.put("jobs/2/a.wav", file)
    with pytest.raises(MediaDamaged, match="not what was put there"):
        media.fetch("jobs/2/a.wav", tmp_path / "b.wav", sha256="0" * 64)
    assert not (tmp_path / "b.wav").exists()
    assert not list(tmp_path.glob(".*"))


def test_what_is_not_there_is_told_in_one_line(media: MediaStore, tmp_path: Path) -> None:
    with pytest.raises(MediaUnusable, match="it is not there") as told:
        media.fetch("jobs/none", tmp_path / "b.wav", sha256="0" * 64)
    assert "\n" not in str(told.value)


@pytest.mark.parametrize("url", ["ftp://x/y", "s3://", "s3://bucket/x?colour=red"])
def test_a_place_that_is_none_is_told_with_what_would_be(url: str) -> None:
    with pytest.raises(MediaUnusable, match="WITNESSMARK_MEDIA_URL"):
        MediaStore(url)
