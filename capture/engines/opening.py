"""Which engine is taken, and why."""

from __future__ import annotations

from pathlib import Path

from capture.engines.engine import Engine
from capture.engines.model_files import find_model
from capture.engines.scripted import ScriptedEngine
from capture.engines.second_opinion import SecondOpinion
from capture.engines.speaker import Enrolled
from capture.engines.sphinx import SphinxEngine
from capture.engines.whisper import WhisperEngine
from shared.errors import EngineUnknown, SettingError, WeightsMissing
from shared.job_sheet import JobSheet
from shared.settings import Settings, load_settings

ENGINES = ("auto", "pocketsphinx", "whisper", "scripted")
_MOST_MODELS = 2


def open_engine(
    name: str,
    sheet: JobSheet,
    *,
    model: str | None = None,
    settings: Settings | None = None,
    enrolled: Enrolled | None = None,
) -> Engine:
    """Open a speech engine for a job sheet.

    ``auto`` takes whisper where its weights are on this machine, else pocketsphinx; ``engine.reason``
    says which and why. ``whisper`` without weights goes on with pocketsphinx, and the reason says what to
    fetch. Where whisper hears, pocketsphinx judges what is chatter; the second opinion on numbers is that
    of a second model if one is named and there, else pocketsphinx's.

    Args:
        name: auto, pocketsphinx, whisper or scripted.
        sheet: whose words it must hear.
        model: of whisper, a local folder or a name in the local cache, or two of them parted by a comma:
            the second one is asked about numbers too. Of scripted, the script's file.
        settings: read from the environment when None.
        enrolled: what is known of a speaker, for pocketsphinx wherever it hears.

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
        return SphinxEngine(sheet, settings.cache_dir, reason="asked for", enrolled=enrolled)
    if name not in ENGINES:
        raise EngineUnknown(f"no speech engine {name!r}", expected="one of " + ", ".join(ENGINES))
    models, missing = _those_there(models_of(model))
    if not models:
        unasked = name == "auto" and model is None
        default = "the offline default" if unasked else "going on with the offline default"
        return SphinxEngine(sheet, settings.cache_dir, reason=f"{missing}; {default}", enrolled=enrolled)
    reason = "asked for" if name == "whisper" else "its weights are on this machine"
    reason = f"{reason}; {missing}" if missing else reason
    return _whisper_with_opinions(models, sheet, settings, reason, enrolled)


def models_of(model: str | None) -> tuple[str | None, ...]:
    """Return the models that an option names: one, or two parted by a comma; (None,) where it names none.

    Raises:
        SettingError: more than two, or one of them twice, which would confirm itself.
    """
    if model is None or Path(model).exists():
        return (model,)
    names = tuple(part.strip() for part in model.split(",") if part.strip())
    if not 1 <= len(names) <= _MOST_MODELS:
        raise SettingError(f"{model!r} names {len(names)} models", expected="one, or two parted by a comma")
    if len(set(names)) < len(names):
        raise SettingError(f"{model!r} names one model twice", expected="two that hear differently")
    return names


def _those_there(names: tuple[str | None, ...]) -> tuple[tuple[str | None, ...], str]:
    """Return the models that are on this machine, and what to do about those that are not."""
    there, missing = [], []
    for name in names:
        try:
            find_model(name)
        except WeightsMissing as exc:
            missing.append(str(exc))
        else:
            there.append(name)
    return tuple(there), "; ".join(missing)


def _whisper_with_opinions(
    models: tuple[str | None, ...],
    sheet: JobSheet,
    settings: Settings,
    reason: str,
    enrolled: Enrolled | None,
) -> Engine:
    first = WhisperEngine(sheet, models[0], settings, reason=reason)
    judge = SphinxEngine(sheet, settings.cache_dir, enrolled=enrolled)
    second = WhisperEngine(sheet, models[1], settings) if len(models) > 1 else judge
    return SecondOpinion(first, second, judge=judge)


def _scripted(model: str | None) -> Engine:
    if model is None:
        raise SettingError("the scripted engine has no script", expected="its JSON file with --model")
    return ScriptedEngine.from_file(Path(model))
