"""A file that is no JSON: what it is instead, without a programmer's words."""

from __future__ import annotations

from pathlib import Path

import pytest

from api.cli import run


@pytest.mark.parametrize(
    ("data", "told"),
    [
        (b"", "the file is empty"),
        (b" \n", "the file is empty"),
        (b"\x95abc", "no text (byte 0)"),
        (b'{"schema":\n "rebuild-record/1"', "damaged, cut off or no JSON at line 2, column"),
    ],
)
def test_what_is_no_json_is_told_plainly(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], data: bytes, told: str
) -> None:
    path = tmp_path / "record.json"
    path.write_bytes(data)
    for command in (["verify", str(path)], ["export", str(path), "--csv", str(tmp_path / "x.csv")]):
        assert run(command) == 2
        said = capsys.readouterr().err
        assert f"{path}: {told}" in said
        assert "codec" not in said
        assert "Expecting" not in said
