"""Which engine is taken, and why."""

from __future__ import annotations

from pathlib import Path

from capture.engines.engine import Engine
from capture.engines.model_files import find_model
from capture.engines.scripted import ScriptedEngine
from capture.engines.second_opinion import SecondOpinion
from capture.engines.sphinx import SphinxEngine
from capture.engines.whisper import WhisperEngine
from shared.errors import EngineUnknown, SettingError, WeightsMissing
from shared.job_sheet import JobSheet
from shared.settings import Settings, load_settings

ENGINES = ("auto", "pocketsphinx", "whisper", "scripted")
_MOST_MODELS = 2


def open_engine(
    name: str, sheet: JobSheet, *, model: str | None = None, settings: Settings | None = None
) -> Engine:
    """Open a speech engine for a job sheet.

    ``auto`` takes whisper where its weights are on this machine, else pocketsphinx; ``engine.reason``
    says which and why. ``whisper`` without weights goes on with pocketsphinx, and the reason says what to
    fetch. Where whisper hears, pocketsphinx judges what is chatter and gives a second opinion on numbers.

    Args:
        name: auto, pocketsphinx, whisper or scripted.
        sheet: whose words it must hear.
        model: of whisper, a local folder or a name in the local cache, or two of them parted by a comma:
            the second one is asked about numbers too. Of scripted, the script's file.
        settings: read from the environment when None.

    Raises:
        EngineUnknown: no engine of that name.
        SettingError: no script for the scripted engine, or more than two models.
        VocabularyError: the sheet's vocabulary cannot be compiled.
        EngineFailed: it cannot be set up.
    """
    settings = settings or load_settings()
    model = model if model is not None else settings.model
    if name == "scripted":
        return _scripted(model)
    if name == "pocketsphinx":
        return SphinxEngine(sheet, settings.cache_dir, reason="asked for")
    if name not in ENGINES:
        raise EngineUnknown(f"no speech engine {name!r}", expected="one of " + ", ".join(ENGINES))
    models = models_of(model)
    try:
        for one in models:
            find_model(one)
    except WeightsMissing as exc:
        why = (
            "the offline default" if name == "auto" and model is None else "going on with the offline default"
        )
        return SphinxEngine(sheet, settings.cache_dir, reason=f"{exc}; {why}")
    reason = "asked for" if name == "whisper" else "its weights are on this machine"
    return _whisper_with_opinions(models, sheet, settings, reason)


def models_of(model: str | None) -> tuple[str | None, ...]:
    """Return the models that an option names: one, or two parted by a comma; (None,) where it names none.

    Raises:
        SettingError: more than two.
    """
    if model is None or Path(model).exists():
        return (model,)
    names = tuple(part.strip() for part in model.split(",") if part.strip())
    if not 1 <= len(names) <= _MOST_MODELS:
        raise SettingError(f"{model!r} names {len(names)} models", expected="one, or two parted by a comma")
    return names


def _whisper_with_opinions(
    models: tuple[str | None, ...], sheet: JobSheet, settings: Settings, reason: str
) -> Engine:
    engine: Engine = WhisperEngine(sheet, models[0], settings, reason=reason)
    for second in models[1:]:
        engine = SecondOpinion(engine, WhisperEngine(sheet, second, settings))
    return SecondOpinion(engine, SphinxEngine(sheet, settings.cache_dir), judges_chatter=True)


def _scripted(model: str | None) -> Engine:
    if model is None:
        raise SettingError("the scripted engine has no script", expected="its JSON file with --model")
    return ScriptedEngine.from_file(Path(model))
