"""Listening to a recording: sound through its journal, cut into utterances, heard by an engine, kept.

The words of chatter and of what is said in a pause are gone before anything is written: each utterance
is read as soon as it is heard, and only what may be kept of it goes to the journal.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from api.captured_sound import CapturedSound, SoundEnd
from api.heard_journal import HeardJournal
from api.progress import Progress
from api.work_folder import WorkFolder
from capture.cut_off import doubted_where_cut_off
from capture.engines.engine import Engine
from capture.segments import cut_segments
from capture.sound import SoundReader
from capture.sound_check import SoundCheck, SoundChecker
from extract.record_builder import RecordBuilder
from shared.speech import Utterance

SOUND_JOURNAL = "sound.journal"
HEARD_JOURNAL = "heard.journal"


@dataclass(frozen=True)
class Listened:
    """What listening to a whole recording gave."""

    utterances: tuple[Utterance, ...]
    """In order; those of chatter and paused speech are without their words."""
    end: SoundEnd
    check: SoundCheck
    """How good the sound was for hearing."""


def listen(
    recording: SoundReader,
    engine: Engine,
    folder: WorkFolder,
    progress: Progress,
    *,
    reader: RecordBuilder,
    rules: str,
    tell: Callable[[str], None],
) -> Listened:
    """Hear a recording, going on where earlier work in the folder stopped.

    Args:
        recording: an opened one.
        engine: what hears; the same as in the earlier work (the folder sees to it).
        folder: keeps the journals.
        progress: is told how far the work is.
        reader: a fresh one; tells what may be kept of each utterance.
        rules: hash over the rules that it reads by.
        tell: is told in one line what became of earlier work that cannot be used.

    Raises:
        JournalFull: the disk took no more; everything up to there is kept.
        EngineFailed: the engine gave up.
    """
    sound = CapturedSound(recording, folder.path / SOUND_JOURNAL)
    with HeardJournal(folder.path / HEARD_JOURNAL, rules) as heard:
        for path in (sound.set_aside, heard.set_aside):
            if path is not None:
                tell(f"a damaged journal was put aside as {path.name}")
        if heard.begun_anew:
            tell("the rules of reading have changed since, so the recording is listened to again")
        for earlier in heard.utterances():
            reader.hear(earlier)
        engine.recall(heard.memory)
        # Cutting is cheap beside hearing and depends on nothing but the sound, so it is simply done
        # again from the start; segments that were heard already are passed over.
        checker = SoundChecker()
        for segment in cut_segments(checker.passing(sound)):
            checker.segment(segment)
            if segment.number < len(heard.heard):
                progress.passed(segment.end_s)
                continue
            utterance = engine.hear(segment)
            if utterance is not None:
                utterance = doubted_where_cut_off(utterance, segment.samples)
            kept = utterance and _kept(reader, replace(utterance, recording=recording.path.name))
            heard.append(kept, engine.memory)
            progress.done(segment.end_s)
        assert sound.end is not None
        return Listened(heard.utterances(), sound.end, checker.finish())


def _kept(reader: RecordBuilder, utterance: Utterance) -> Utterance:
    reader.hear(utterance)
    return reader.kept(-1)
