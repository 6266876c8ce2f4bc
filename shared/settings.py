"""Settings: environment variables ``WITNESSMARK_…``, each also an option where it matters."""

from __future__ import annotations

from pathlib import Path
from typing import Literal

from pydantic import Field, ValidationError
from pydantic_settings import BaseSettings, SettingsConfigDict

from shared.errors import SettingError


class Settings(BaseSettings):
    """What a shop can set. Every field is documented in README.md; a test sees to it."""

    model_config = SettingsConfigDict(env_prefix="WITNESSMARK_", extra="forbid")

    cache_dir: Path = Path.home() / ".cache" / "witnessmark"
    """Compiled vocabularies, by content."""
    data_dir: Path = Path.home() / "witnessmark"
    """What `serve` keeps: database, journals, pictures, keys."""
    database_url: str | None = None
    """A database other than the SQLite file in the data folder."""
    media_url: str | None = None
    """Where what is brought in, and what was made of it, is kept for all machines: a folder or s3://…."""
    task_lease_s: float = Field(default=20.0, ge=2, le=3600)
    """Seconds after which work of a worker that is not heard of any more is taken up by another."""
    bench_camera: str | None = None
    """Camera at the server for pictures of the benches: a number, an address or a video file; or by bench."""
    bench_microphone: str | None = None
    """Microphone at the server for the benches: a number or (part of) a name; or by bench."""
    engine: str = "auto"
    """auto, pocketsphinx, whisper or scripted."""
    model: str | None = None
    """A local model folder or the name of one in the local model cache; or two, parted by a comma."""
    threads: int = Field(default=2, ge=1, le=64)
    """Processor threads for a neural engine."""
    provisional: bool = True
    """Show at the bench what a phrase seems to say before it was heard to the end; takes processor time."""
    job_score_least: float = 0.0
    """Below it an utterance counts as chatter (log likelihood ratio a frame)."""
    reading_confidence_least: float = Field(default=0.5, ge=0, le=1)
    """Below it a reading is a question."""
    sound_kept_days: int | None = Field(default=None, ge=0, le=36_500)
    """Days after signing for which `serve` keeps the sound of a job; then its hash alone. None: for good."""
    chatter_sound_kept: bool = False
    """Keep the sound of what was not said about the job like the rest; else it is silenced at signing."""
    log_level: Literal["info", "warning", "error"] = "warning"
    """What `serve` and its workers write to standard error: info tells of every request."""
    metrics_token: str | None = Field(default=None, min_length=16)
    """Whoever has it may read `/metrics` of `serve`; none: only who keeps the accounts."""
    debug: bool = False
    """Show a traceback beside the one line that says what failed."""


def load_settings() -> Settings:
    """Read the settings from the environment.

    Raises:
        SettingError: a value that cannot be used.
    """
    try:
        return Settings()
    except ValidationError as exc:
        first = exc.errors(include_url=False)[0]
        name = "WITNESSMARK_" + "_".join(str(part) for part in first["loc"]).upper()
        raise SettingError(
            f"setting {name} has value {first.get('input')!r}",
            expected=first["msg"].removeprefix("Input should be "),
        ) from exc
