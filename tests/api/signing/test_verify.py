"""``witnessmark verify``: words, JSON and exit status."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from api.cli import run
from api.signing.keys import ShopKey, new_key
from api.signing.signed_record import SignedRecord


@pytest.fixture
def files(tmp_path: Path, signed: SignedRecord, document: bytes, key: ShopKey) -> Path:
    (tmp_path / "signed.json").write_bytes(signed.data)
    (tmp_path / "signed.pdf").write_bytes(document)
    (tmp_path / "shop.pem").write_text(key.public_pem)
    (tmp_path / "other.pem").write_text(new_key().public_pem)
    return tmp_path


def test_it_says_in_words_what_holds(files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    names = [str(files / name) for name in ("signed.json", "signed.pdf")]
    assert run(["verify", *names, "--key", str(files / "shop.pem"), "--strict"]) == 0
    out = capsys.readouterr().out
    assert out.count("all of it holds") == 2
    assert out.count("meaning: reviewed and accepted") == 2
    assert "✓ document: the PDF is as it was signed, to the last byte" in out


@pytest.mark.parametrize("name", ["signed.json", "signed.pdf"])
def test_strict_fails_where_the_key_is_not_known(
    files: Path, name: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(["verify", str(files / name)]) == 0
    assert "unchanged; the key is not known here" in capsys.readouterr().out
    assert run(["verify", str(files / name), "--strict"]) == 1
    assert run(["verify", str(files / name), "--strict", "--key", str(files / "other.pem")]) == 1
    assert "DOES NOT HOLD" in capsys.readouterr().out


def test_a_changed_file_is_work_done_and_strict_says_so(
    files: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = files / "signed.json"
    path.write_bytes(path.read_bytes().replace(b'"0.016"', b'"0.013"'))
    arguments = ["verify", str(path), "--key", str(files / "shop.pem"), "--json"]
    assert run(arguments) == 0
    (found,) = json.loads(capsys.readouterr().out)
    assert found["holds"] is False
    assert {each["subject"] for each in found["findings"] if each["state"] == "broken"} == {
        "record",
        "signature",
    }
    assert found["signature"]["account"] == "rr"
    assert run([*arguments, "--strict"]) == 1


def test_what_cannot_be_checked_ends_with_2_and_the_rest_is_told(
    files: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (files / "torn.json").write_bytes((files / "signed.json").read_bytes()[:5000])
    assert run(["verify", str(files / "torn.json"), str(files / "signed.json")]) == 2
    told = capsys.readouterr()
    assert "signed.json: signed record" in told.out
    assert told.err.count("\n") == 1
    assert "torn.json: damaged" in told.err


@pytest.mark.parametrize(("name", "told"), [("none.json", "no such file"), (".", "this is a folder")])
def test_no_file_is_said(files: Path, name: str, told: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["verify", str(files / name)]) == 2
    assert told in capsys.readouterr().err


def test_a_key_that_is_none_is_said(files: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert run(["verify", str(files / "signed.json"), "--key", str(files / "signed.json")]) == 2
    assert "expected an Ed25519 public key" in capsys.readouterr().err
