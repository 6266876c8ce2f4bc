"""What an engine heard: an utterance and its words, with their times in the recording."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Word:
    """One word as heard."""

    text: str
    start_s: float
    """Seconds from the start of the recording."""
    end_s: float
    """Seconds from the start of the recording."""
    confidence: float = 1.0
    """Posterior, 0 to 1."""


@dataclass(frozen=True, slots=True)
class Utterance:
    """What was said between two pauses."""

    text: str
    start_s: float
    """Seconds from the start of the recording."""
    end_s: float
    """Seconds from the start of the recording."""
    confidence: float = 1.0
    """0 to 1."""
    words: tuple[Word, ...] = ()
    """Words with times; empty when the engine gives none."""
    engine: str = ""
    recording: str = ""
    alternatives: tuple[str, ...] = ()
    """Other readings of the same sound (n-best, a second pass, a second engine), likeliest first; an
    empty one where nothing was heard. Where one of them means another value, or none, the reading
    becomes a question."""
    job_score: float | None = None
    """Log likelihood ratio a frame of the job's language model against the general one: above
    zero it is talk about the job, below it is chatter; None where nobody judged."""
    noisy: bool = False
    """Heard in noise, where the words that an engine is sure of are wrong oftener than it says."""
