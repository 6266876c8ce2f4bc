"""A worker that sees neither the recordings' folder nor its server reads them from the media store."""

from __future__ import annotations

import json
import shutil
from pathlib import Path

import pytest

from api.cli import run
from api.failure import DONE
from api.store.media import MediaStore
from tests.api.processing import SHEET


@pytest.mark.parametrize("place", ["folder", "s3"])
@pytest.mark.long
def test_a_recording_reaches_a_worker_elsewhere_and_what_was_made_comes_back(
    request: pytest.FixtureRequest,
    place: str,
    talk: Path,
    script: Path,
    tmp_path: Path,
    postgresql_url: str,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    url = str(tmp_path / "media") if place == "folder" else request.getfixturevalue("s3_url")
    monkeypatch.setenv("WITNESSMARK_MEDIA_URL", url)
    monkeypatch.setenv("WITNESSMARK_DATABASE_URL", postgresql_url)
    archive = tmp_path / "archive"
    archive.mkdir()
    shutil.copy(talk, archive / "a.wav")
    wanted = ["process", str(archive), "--sheet", SHEET, "--engine", "scripted", "--model", str(script)]
    assert run([*wanted, "--workers", "0", "--data", str(tmp_path / "here")]) == DONE
    shutil.rmtree(archive)
    assert run(["worker", "--until-done", "--data", str(tmp_path / "elsewhere"), "--json"]) == DONE
    assert json.loads(capsys.readouterr().out.splitlines()[-1]) == {"done": 1}
    media = MediaStore(url)
    (record,) = [name for name in media.names("past") if name.endswith("/record.json")]
    made = next((tmp_path / "elsewhere").rglob("record.json"))
    media.fetch(record, tmp_path / "record.json", sha256=media.sha256_of(record))
    assert (tmp_path / "record.json").read_bytes() == made.read_bytes()
    # The evidence names the recording as it was called where it came from.
    assert '"a.wav"' in made.read_text()
