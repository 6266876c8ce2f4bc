"""Listening to a recording: sound through its journal, cut into utterances, heard by an engine, kept."""

from __future__ import annotations

from dataclasses import dataclass, replace

from api.captured_sound import CapturedSound, SoundEnd
from api.heard_journal import HeardJournal
from api.progress import Progress
from api.work_folder import WorkFolder
from capture.engines.engine import Engine
from capture.segments import cut_segments
from capture.sound import SoundReader
from shared.speech import Utterance

SOUND_JOURNAL = "sound.journal"
HEARD_JOURNAL = "heard.journal"


@dataclass(frozen=True)
class Listened:
    """What listening to a whole recording gave."""

    utterances: tuple[Utterance, ...]
    """In order; chatter and paused speech are still among them."""
    end: SoundEnd
    set_aside: tuple[str, ...]
    """Names of damaged journals of earlier work that were put aside."""


def listen(recording: SoundReader, engine: Engine, folder: WorkFolder, progress: Progress) -> Listened:
    """Hear a recording, going on where earlier work in the folder stopped.

    Args:
        recording: an opened one.
        engine: what hears; the same as in the earlier work (the folder sees to it).
        folder: keeps the journals.
        progress: is told how far the work is.

    Raises:
        JournalFull: the disk took no more; everything up to there is kept.
        EngineFailed: the engine gave up.
    """
    sound = CapturedSound(recording, folder.path / SOUND_JOURNAL)
    with HeardJournal(folder.path / HEARD_JOURNAL) as heard:
        aside = tuple(path.name for path in (sound.set_aside, heard.set_aside) if path is not None)
        # Cutting is cheap beside hearing and depends on nothing but the sound, so it is simply done
        # again from the start; segments that were heard already are passed over.
        for segment in cut_segments(sound):
            if segment.number < len(heard.heard):
                progress.passed(segment.end_s)
                continue
            utterance = engine.hear(segment)
            heard.append(utterance and replace(utterance, recording=recording.path.name))
            progress.done(segment.end_s)
        assert sound.end is not None
        return Listened(heard.utterances(), sound.end, aside)
