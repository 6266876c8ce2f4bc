"""The neural engine on tiny models of our own: real loading, decoding and word alignment, no download."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from faster_whisper import WhisperModel

from capture.engines import Engine, open_engine
from capture.engines.engine import SegmentEngine
from capture.engines.sphinx import SphinxEngine
from capture.engines.whisper import WhisperEngine
from shared.errors import EngineFailed, EngineUnknown, SettingError
from shared.job_sheet import load_job_sheet
from shared.settings import Settings
from tests.capture.engine_sound import START_S, noise, segment, spoken
from tests.capture.tiny_whisper import build_tiny_whisper, put_into_cache

SHEET = load_job_sheet("wash-water-end-suction")
SEVENTY = "Impeller bolt, seventy foot pounds."
Models = Callable[..., Path]


@pytest.fixture(scope="module")
def models(tmp_path_factory: pytest.TempPathFactory) -> Models:
    """Build a model that says a sentence; once for each sentence and its options."""
    built: dict[str, Path] = {}

    def build(sentence: str, **options: Any) -> Path:
        key = f"{sentence}{sorted(options.items())}"
        if key not in built:
            name = re.sub(r"\W+", "-", sentence.lower())[:40]
            built[key] = build_tiny_whisper(tmp_path_factory.mktemp("m") / name, sentence, **options)
        return built[key]

    return build


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    from huggingface_hub import constants

    monkeypatch.setattr(constants, "HF_HUB_CACHE", str(tmp_path / "hub"))
    return tmp_path / "hub"


def engine(model: Path, settings: Settings | None = None) -> WhisperEngine:
    return WhisperEngine(SHEET, str(model), settings or Settings())


# -- hearing ------------------------------------------------------------------------------------------


def test_what_the_model_says_comes_with_times_in_the_recording(models: Models) -> None:
    heard = engine(models(SEVENTY, word_s=0.4)).hear(segment())
    assert heard is not None
    assert (heard.text, heard.engine, heard.start_s) == (SEVENTY, "whisper", START_S)
    assert [word.text for word in heard.words] == SEVENTY.split()
    # The model looks at its words 0.4 s apart; the library's alignment is good to two of its 20 ms steps.
    starts = [word.start_s - START_S for word in heard.words]
    assert starts == pytest.approx([0.0, 0.4, 0.8, 1.2, 1.6], abs=0.05)
    assert heard.confidence == pytest.approx(1.0, abs=0.01)


def test_no_word_lies_beyond_its_segment(models: Models) -> None:
    short = segment(spoken()[: 16000 * 2])
    heard = engine(models(SEVENTY, word_s=0.8)).hear(short)
    assert heard is not None
    assert len(heard.words) == 5
    for word in heard.words:
        assert short.start_s <= word.start_s <= word.end_s <= short.end_s


def test_an_unsure_word_has_a_low_confidence_of_its_own(models: Models) -> None:
    heard = engine(models(SEVENTY, unsure=(2,))).hear(segment())
    assert heard is not None
    confidences = {word.text: word.confidence for word in heard.words}
    # Three rivals at exp(-1) of its likelihood: 1 / (1 + 3 exp(-1)) = 0.475.
    assert confidences["seventy"] == pytest.approx(0.475, abs=0.02)
    assert min(c for text, c in confidences.items() if text != "seventy") > 0.98
    assert heard.confidence == pytest.approx(np.mean(list(confidences.values())), abs=1e-6)


def test_hotwords_of_the_sheet_stand_in_the_prompt_and_leave_room(
    models: Models, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Through the library's own prompt; the tiny model answers as it would without them."""
    prompts = []
    get_prompt = WhisperModel.get_prompt

    def seen(self: WhisperModel, tokenizer: Any, *args: Any, **more: Any) -> list[int]:
        prompt: list[int] = get_prompt(self, tokenizer, *args, **more)
        prompts.append((tokenizer.sot_prev, prompt, more["hotwords"]))
        return prompt

    monkeypatch.setattr(WhisperModel, "get_prompt", seen)
    heard = engine(models(SEVENTY)).hear(segment())
    assert heard is not None
    assert heard.text == SEVENTY
    ((sot_prev, prompt, hotwords),) = prompts
    assert prompt[0] == sot_prev
    assert "shim pack" in hotwords
    # A token a word here; a published vocabulary has about 3.5 letters a token.
    assert len(prompt) == len(hotwords.split()) + 2
    assert len(hotwords) / 3.5 <= 100


def test_it_decodes_as_it_should(models: Models, monkeypatch: pytest.MonkeyPatch) -> None:
    """Options as the notes on this library advise: no text carried over, nothing drawn at random."""
    used = {}
    generate = WhisperModel.generate_segments

    def seen(self: WhisperModel, features: Any, tokenizer: Any, options: Any, *more: Any) -> Any:
        used.update(vars(options))
        return generate(self, features, tokenizer, options, *more)

    monkeypatch.setattr(WhisperModel, "generate_segments", seen)
    engine(models(SEVENTY)).hear(segment())
    wanted = {
        "beam_size": 5,
        "temperatures": [0.0],
        "condition_on_previous_text": False,
        "word_timestamps": True,
        "hallucination_silence_threshold": 2.0,
        "compression_ratio_threshold": 2.4,
        "initial_prompt": None,
        "multilingual": False,
    }
    assert {name: used[name] for name in wanted} == wanted


def test_it_computes_on_as_many_threads_as_set_with_small_weights(
    models: Models, monkeypatch: pytest.MonkeyPatch
) -> None:
    given = {}
    load = WhisperModel.__init__

    def seen(self: WhisperModel, *args: Any, **more: Any) -> None:
        given.update(more)
        load(self, *args, **more)

    monkeypatch.setattr(WhisperModel, "__init__", seen)
    engine(models(SEVENTY), Settings(threads=3))
    assert (given["cpu_threads"], given["compute_type"], given["device"]) == (3, "int8", "cpu")
    assert given["local_files_only"] is True


def test_the_same_sound_is_heard_the_same_whatever_came_before(models: Models) -> None:
    ear = engine(models(SEVENTY, unsure=(1, 2, 3)))
    first = ear.hear(segment())
    ear.hear(segment(noise(2000.0)))
    assert ear.hear(segment()) == first == engine(models(SEVENTY, unsure=(1, 2, 3))).hear(segment())


@pytest.mark.parametrize(
    ("sentence", "options"),
    [
        ("Thank you.", {}),
        ("and then and then and then and then", {}),
        (" ".join(["0.018,"] * 18), {}),
        ("one two three four five six seven eight " * 6, {}),  # 48 words in five seconds
        ("shim pack, impeller bolt", {"unsure": (0, 1, 2, 3)}),
        (SEVENTY, {"unsure": range(5), "rivals": 40, "no_speech": True}),
    ],
    ids=["made up", "loop", "loop of a number", "too fast", "hotwords only", "no speech"],
)
def test_what_the_network_makes_up_is_nothing_heard(
    sentence: str, options: dict[str, Any], models: Models
) -> None:
    model = models(sentence.strip(), **options)
    assert engine(model).hear(segment()) is None


def test_speech_that_the_network_is_sure_of_is_heard_though_it_doubts_that_anybody_speaks(
    models: Models,
) -> None:
    assert engine(models(SEVENTY, no_speech=True)).hear(segment()) is not None


def test_speech_that_it_is_quite_unsure_of_is_heard_with_a_low_confidence(models: Models) -> None:
    heard = engine(models(SEVENTY, unsure=range(5), rivals=40)).hear(segment())
    assert heard is not None
    assert heard.confidence < 0.1


def test_hotwords_in_clear_sound_that_the_network_is_sure_of_are_kept(models: Models) -> None:
    heard = engine(models("shim pack")).hear(segment())
    assert heard is not None


def test_the_same_numbers_round_five_vanes_are_kept(models: Models) -> None:
    vanes = " ".join(f"vane {n} eighteen thou" for n in ("one", "two", "three", "four", "five"))
    heard = engine(models(vanes)).hear(segment())
    assert heard is not None
    assert heard.text == vanes


def test_silence_is_not_even_decoded(models: Models, monkeypatch: pytest.MonkeyPatch) -> None:
    ear = engine(models(SEVENTY))
    monkeypatch.setattr(WhisperModel, "transcribe", lambda *_, **__: pytest.fail("was decoded"))
    assert ear.hear(segment(noise(20.0))) is None


def test_words_are_heard_where_the_library_cannot_align_them(
    models: Models, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: Any, **__: Any) -> None:
        raise IndexError("arrays used as indices must be of integer (or boolean) type")

    ear = engine(models(SEVENTY, unsure=(2,)))
    monkeypatch.setattr(WhisperModel, "add_word_timestamps", fails)
    heard = ear.hear(segment())
    assert heard is not None
    assert (heard.text, heard.words) == (SEVENTY, ())
    assert 0.5 < heard.confidence < 0.99


# -- loading ------------------------------------------------------------------------------------------


def test_a_name_in_the_local_cache_is_loaded(models: Models, cache: Path) -> None:
    put_into_cache(models(SEVENTY), cache, "Systran/faster-whisper-base.en")
    ear = WhisperEngine(SHEET, "base.en", Settings())
    assert ear.model == "base.en"
    heard = ear.hear(segment())
    assert heard is not None
    assert heard.text == SEVENTY
    # Taken by itself, it is named so that anybody could fetch it; no path of this machine.
    assert WhisperEngine(SHEET, None, Settings()).model == "Systran/faster-whisper-base.en"


@pytest.mark.long
def test_the_identity_changes_with_anything_that_may_change_what_is_heard(
    models: Models, tmp_path: Path
) -> None:
    one = engine(models(SEVENTY))
    assert engine(models(SEVENTY)).identity == one.identity
    assert engine(models("Impeller bolt, seventeen foot pounds.")).identity != one.identity
    assert engine(models(SEVENTY, unsure=(2,))).identity != one.identity
    other_sheet = WhisperEngine(load_job_sheet("wash-water-split-case"), str(models(SEVENTY)), Settings())
    assert other_sheet.identity != one.identity
    moved = tmp_path / "moved"
    moved.mkdir()
    for file in models(SEVENTY).iterdir():
        (moved / file.name).write_bytes(file.read_bytes())
    assert engine(moved).identity == one.identity
    config = moved / "tokenizer.json"
    config.write_text(config.read_text().replace("seventy", "sixty"))
    assert engine(moved).identity != one.identity


@pytest.mark.parametrize(
    ("file", "content"), [("model.bin", b"no weights"), ("tokenizer.json", b"{"), ("config.json", b"{")]
)
def test_a_damaged_model_is_named_in_one_line(
    file: str, content: bytes, models: Models, tmp_path: Path
) -> None:
    for each in models(SEVENTY).iterdir():
        (tmp_path / each.name).write_bytes(each.read_bytes())
    (tmp_path / file).write_bytes(content)
    with pytest.raises(EngineFailed, match=r"cannot be loaded: .*; try another model, or") as refused:
        engine(tmp_path)
    assert "\n" not in str(refused.value)


def test_a_model_of_other_frequency_bands_than_its_files_say_is_refused_at_once(
    models: Models, tmp_path: Path
) -> None:
    for each in models(SEVENTY).iterdir():
        (tmp_path / each.name).write_bytes(each.read_bytes())
    (tmp_path / "preprocessor_config.json").write_text('{"feature_size": 128}')
    with pytest.raises(EngineFailed, match="listens to 80 frequency bands, its files say 128"):
        engine(tmp_path)


# -- which one is taken -------------------------------------------------------------------------------


def opened(name: str, model: str | None = None) -> Engine:
    return open_engine(name, SHEET, model=model, settings=Settings())


def test_auto_goes_on_with_the_default_where_no_weights_are(cache: Path) -> None:
    ear = opened("auto")
    assert isinstance(ear, SphinxEngine)
    assert re.search(r"none of small\.en.*about 485 MB.*fetch-model small\.en; the offline", ear.reason)


@pytest.mark.parametrize("name", ["auto", "whisper"])
def test_a_model_that_is_not_there_is_said_and_the_work_goes_on(name: str, cache: Path) -> None:
    ear = opened(name, "base.en")
    assert ear.name == "pocketsphinx"
    assert re.search(r"'base\.en' is neither.*145 MB.*going on with the offline default", ear.reason)


def test_auto_takes_weights_that_are_there(models: Models, cache: Path) -> None:
    put_into_cache(models(SEVENTY), cache, "Systran/faster-whisper-tiny.en")
    ear = opened("auto")
    assert ear.name == "whisper"
    assert ear.reason.startswith("its weights are on this machine; pocketsphinx (en-us, ")
    assert ear.model.startswith("Systran/faster-whisper-tiny.en; numbers also by pocketsphinx, en-us")
    assert isinstance(ear, SegmentEngine)


def test_of_two_models_the_one_that_is_there_hears_and_the_other_is_named(
    models: Models, cache: Path
) -> None:
    folder = models(SEVENTY)
    for pair in (f"{folder},base.en", f"base.en, {folder}"):
        ear = opened("whisper", pair)
        assert ear.model.startswith(f"{folder.name}; numbers also by pocketsphinx")
        assert re.search(r"^asked for; .*'base\.en' is neither .*fetch-model base\.en", ear.reason)


def test_two_models_are_asked_about_numbers_and_the_default_about_chatter(models: Models) -> None:
    first, second = models(SEVENTY), models("Impeller bolt, seventeen foot pounds.")
    ear = opened("whisper", f"{first},{second}")
    assert ear.model.startswith(f"{first.name}; numbers also by whisper, {second.name}; chatter told by")
    assert ear.identity != opened("whisper", f"{second},{first}").identity
    heard = ear.hear(segment())
    assert heard is not None
    assert (heard.text, heard.alternatives) == (SEVENTY, ("Impeller bolt, seventeen foot pounds.",))
    assert heard.job_score is not None
    assert heard.job_score > 0


@pytest.mark.parametrize("model", ["a,b,c", "a,a", ","])
def test_other_than_one_or_two_different_models_are_refused(model: str) -> None:
    with pytest.raises(SettingError, match="expected"):
        opened("whisper", model)


def test_an_engine_that_nobody_knows_lists_those_that_are() -> None:
    with pytest.raises(EngineUnknown, match="auto, pocketsphinx, whisper, scripted"):
        opened("parrot")
