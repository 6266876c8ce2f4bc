"""Which engine is taken, and why."""

from __future__ import annotations

from pathlib import Path

from capture.engines.engine import Engine
from capture.engines.scripted import ScriptedEngine
from capture.engines.sphinx import SphinxEngine
from shared.errors import EngineUnknown
from shared.job_sheet import JobSheet
from shared.settings import Settings, load_settings

ENGINES = ("auto", "pocketsphinx", "whisper", "scripted")


def open_engine(
    name: str, sheet: JobSheet, *, model: str | None = None, settings: Settings | None = None
) -> Engine:
    """Open a speech engine for a job sheet.

    Args:
        name: auto, pocketsphinx, whisper or scripted.
        sheet: whose words it must hear.
        model: of whisper, a local folder or a name in the local cache; of scripted, the script's file.
        settings: read from the environment when None.

    Raises:
        EngineUnknown: no engine of that name.
        VocabularyError: the sheet's vocabulary cannot be compiled.
        EngineFailed: it cannot be set up.
    """
    settings = settings or load_settings()
    model = model if model is not None else settings.model
    if name not in ENGINES:
        raise EngineUnknown(f"no speech engine {name!r}", expected="one of " + ", ".join(ENGINES))
    if name == "scripted":
        if model is None:
            raise EngineUnknown("the scripted engine has no script", expected="its JSON file with --model")
        return ScriptedEngine.from_file(Path(model))
    reason = "the offline default"
    if name == "whisper":
        reason = "whisper was asked for and is not in this version; going on with the offline default"
    return SphinxEngine(sheet, settings.cache_dir, reason=reason)
