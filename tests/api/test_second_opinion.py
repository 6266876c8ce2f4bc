"""Two speech models through the command line: where they differ it is a question. No network is touched."""

from __future__ import annotations

import os
import re
import subprocess
import sys
import wave
from collections.abc import Callable
from pathlib import Path

import pytest

from api.cli import run
from api.failure import DONE, NOT_DONE
from shared.record import RebuildRecord
from tests.capture.engine_sound import spoken
from tests.capture.tiny_whisper import build_tiny_whisper

ROOT = Path(__file__).parents[2]
Say = Callable[[str], str]


@pytest.fixture(scope="module")
def say(tmp_path_factory: pytest.TempPathFactory) -> Say:
    """Build a tiny model that says a sentence; return its folder."""
    return lambda sentence: str(build_tiny_whisper(tmp_path_factory.mktemp("models") / "ear", sentence))


@pytest.fixture(scope="module")
def recording(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One utterance: "new impeller bolt with thread locker on it seventy foot pounds"."""
    path = tmp_path_factory.mktemp("sound") / "bolt.wav"
    with wave.open(str(path), "wb") as file:
        file.setparams((1, 2, 16000, 0, "NONE", ""))
        file.writeframes(spoken().astype("<i2").tobytes())
    return path


def process(recording: Path, out: Path, model: str, *more: str) -> RebuildRecord:
    arguments = ["process", str(recording), "--sheet", "wash-water-end-suction", "--out", str(out)]
    assert run([*arguments, "--engine", "whisper", "--model", model, *more]) == DONE
    return RebuildRecord.model_validate_json((out / "record.json").read_text("utf-8"))


@pytest.mark.issue(2)
@pytest.mark.long
def test_two_models_that_say_different_numbers_make_a_question_with_both(
    say: Say, recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    pair = f"{say('impeller bolt seventy foot pounds')},{say('Impeller bolt, 17 foot-pounds.')}"
    record = process(recording, tmp_path / "out", pair)
    (reading,) = record.readings
    assert (reading.item, reading.value, reading.needs_review) == ("impeller_bolt_torque", None, True)
    assert [c.value_exact for c in reading.candidates] == ["70", "17"]
    (question,) = record.questions
    assert question.about == reading.id
    assert record.made_by.engine == "whisper"
    shown = capsys.readouterr()
    assert re.search(r"70 ft·lb or 17 ft·lb\?", shown.out)
    assert re.search(r"listening with whisper \(ear; numbers also by whisper, ear; .*asked for", shown.err)


@pytest.mark.parametrize(
    ("first", "second", "value"),
    [
        ("Impeller bolt seventy foot pounds.", "the impeller bolt got 70 ft-lbs", "70"),
        ("shim pack eighteen thou", "Shim pack, 0.018.", "0.018"),
        ("Shim pack, 0.044 inches", "shim pack forty four thousandths", "0.044"),
    ],
)
def test_two_that_agree_in_words_or_figures_make_none(
    first: str, second: str, value: str, say: Say, recording: Path, tmp_path: Path
) -> None:
    record = process(recording, tmp_path / "out", f"{say(first)},{say(second)}")
    (reading,) = record.readings
    assert (reading.value_exact, reading.reason) == (value, None)
    assert record.questions == []


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("impeller bolt seventy foot pounds", "impeller bolt's evenly found"),
        ("impeller bolt's evenly found", "impeller bolt seventy foot pounds"),
        ("Thank you.", "impeller bolt seventy foot pounds"),
    ],
)
def test_a_number_that_only_one_of_them_heard_is_a_question(
    first: str, second: str, say: Say, recording: Path, tmp_path: Path
) -> None:
    record = process(recording, tmp_path / "out", f"{say(first)},{say(second)}")
    (reading,) = record.readings
    assert (reading.needs_review, reading.verdict) == (True, "undecided")
    assert [c.value_exact for c in reading.candidates] == ["70"]
    assert [q.about for q in record.questions] == [reading.id]


@pytest.mark.long
def test_one_model_is_confirmed_or_contradicted_by_the_offline_default(
    say: Say, recording: Path, tmp_path: Path
) -> None:
    """Pocketsphinx really hears "seventy foot pounds" in this sound; the tiny model says what it is told."""
    right = process(recording, tmp_path / "right", say("new impeller bolt, 70 foot pounds"))
    assert [(r.value_exact, r.needs_review) for r in right.readings] == [("70", False)]
    wrong = process(recording, tmp_path / "wrong", say("new impeller bolt, 17 foot pounds"))
    (reading,) = wrong.readings
    assert reading.needs_review
    assert {"70", "17"} <= {c.value_exact for c in reading.candidates}


def test_missing_weights_say_what_to_fetch_and_the_work_is_done(
    recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    from huggingface_hub import constants

    monkeypatch.setattr(constants, "HF_HUB_CACHE", str(tmp_path / "hub"))
    record = process(recording, tmp_path / "out", "base.en")
    assert [r.value_exact for r in record.readings] == ["70"]
    assert record.made_by.engine == "pocketsphinx"
    said = capsys.readouterr().err
    assert re.search(
        r"listening with pocketsphinx .*145 MB\): witnessmark fetch-model base\.en; going on", said
    )


def test_a_model_that_cannot_be_loaded_is_named_in_one_line(
    say: Say, recording: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    model = Path(say("seventy"))
    (model / "model.bin").write_bytes(b"torn")
    arguments = ["process", str(recording), "--sheet", "wash-water-end-suction", "--out", str(tmp_path / "o")]
    assert run([*arguments, "--engine", "whisper", "--model", str(model)]) == NOT_DONE
    assert re.fullmatch(
        r"witnessmark: the model in .* cannot be loaded: .* \[engine-failed\]\n", capsys.readouterr().err
    )


NO_NETWORK = """
import socket, sys

def refuse(*args, **more):
    print("TOUCHED A NETWORK", args, file=sys.stderr)
    raise SystemExit(7)

for name in ("connect", "connect_ex", "sendto"):
    setattr(socket.socket, name, refuse)
socket.create_connection = socket.getaddrinfo = socket.gethostbyname = refuse
from api.cli import run
status = run(sys.argv[1:])
from huggingface_hub import constants
assert constants.HF_HUB_OFFLINE, "the hub's library was imported as if a network were there"
sys.exit(status)
"""


@pytest.mark.parametrize("engine", [("auto",), ("whisper", "model"), ("whisper", "small.en")])
@pytest.mark.long
def test_no_network_is_touched_whatever_the_engine(
    engine: tuple[str, ...], say: Say, recording: Path, tmp_path: Path
) -> None:
    """In a process of its own, in which nothing has been imported before and every connection ends it."""
    model = say("Impeller bolt 70 foot pounds.") if "model" in engine else "".join(engine[1:])
    arguments = [
        "process",
        str(recording),
        "--sheet",
        "wash-water-end-suction",
        "--out",
        str(tmp_path / "out"),
    ]
    arguments += ["--engine", engine[0], *(["--model", model] if model else [])]
    ended = subprocess.run(
        [sys.executable, "-c", NO_NETWORK, *arguments],
        capture_output=True,
        text=True,
        cwd=ROOT,
        env=os.environ | {"HF_HUB_CACHE": str(tmp_path / "hub")},
        check=False,
    )
    assert "TOUCHED" not in ended.stderr
    assert ended.returncode == DONE, ended.stderr
