"""A lesson's clips joined into one sound with captions: no name in it, nobody who has not agreed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
from sqlalchemy import select
from sqlalchemy.orm import Session

from api.captions import captions
from api.heard_journal import kept_talk
from api.lessons.behind import AROUND_S
from api.lessons.names_left_out import name_spans, name_words, silenced, without_names
from api.lessons.speakers import all_agreed, speakers
from api.listening import HEARD_JOURNAL
from api.office.clips import clip_samples
from api.store.lesson_tables import Lesson, LessonClip
from api.store.tables import Account, Recording
from capture.sound_blocks import RATE_HZ, Samples
from shared.errors import NotKept
from shared.speech import Utterance

#: Seconds of silence between clips, so that each is heard by itself.
GAP_S = 0.8
#: Root mean square that clips are brought to, of full scale: benches stand at different distances. At most
#: four times as loud, or the noise of a quiet one is all that is heard. Common practice, no source.
_LEVEL, _MOST_GAIN, _PEAK = 0.06, 4.0, 0.95


@dataclass(frozen=True)
class HeardClip:
    """A clip as a lesson shows it."""

    clip: LessonClip
    words: str
    """Without names; empty where nothing of it is to be heard or read."""
    refusal: str
    """Why it is left out, or nothing."""
    talk: tuple[Utterance, ...] = ()
    spans: tuple[tuple[float, float], ...] = ()
    """Where names are said, seconds of the recording."""
    folder: Path | None = None


@dataclass
class Joined:
    """A lesson's sound."""

    samples: Samples
    """int16, mono, 16 kHz."""
    cues: list[Utterance] = field(default_factory=list)
    """What is said when, in seconds of the lesson."""
    left_out: int = 0

    @property
    def captions(self) -> str:
        """As WebVTT."""
        return captions(self.cues)


def heard_clips(session: Session, folder: Path, lesson: Lesson) -> list[HeardClip]:
    """Return a lesson's clips with their words, or why they are left out.

    Why never says who: it would tell who did not agree.

    Args:
        session: one that reads.
        folder: data folder of the shop.
        lesson: of which.
    """
    names = name_words(
        name for both in session.execute(select(Account.shown_name, Account.name)) for name in both
    )
    return [_heard(session, folder, one, names) for one in lesson.clips]


def joined(clips: Sequence[HeardClip]) -> Joined:
    """Return the sound of clips, one after the other, and their captions.

    Raises:
        NotKept: none of them can be heard.
    """
    pieces: list[Samples] = []
    made = Joined(np.zeros(0, np.int16))
    at_s = 0.0
    for one in clips:
        sound = _sound(one)
        if sound is None:
            made.left_out += 1
            continue
        begins, samples = sound
        for said in one.talk:
            start = max(0.0, said.start_s - begins)
            made.cues.append(Utterance(said.text, at_s + start, at_s + said.end_s - begins))
        pieces += [samples, np.zeros(round(GAP_S * RATE_HZ), np.int16)]
        at_s += len(samples) / RATE_HZ + GAP_S
    if not pieces:
        raise NotKept(
            "nothing of this lesson can be heard",
            remedy="choose clips whose sound is kept and whose speakers agreed",
        )
    made.samples = np.concatenate(pieces[:-1])
    return made


def _heard(session: Session, folder: Path, clip: LessonClip, names: frozenset[str]) -> HeardClip:
    # What is heard is a little more than the clip, and so may be who is heard, and which names.
    begins, ends = max(0.0, clip.start_s - AROUND_S), clip.end_s + AROUND_S
    people = speakers(session, clip.job_id, clip.recording, begins, ends)
    if not all_agreed(session, people):
        return HeardClip(clip, "", "not everybody who was at the bench agreed that lessons use his voice")
    row = session.scalar(
        select(Recording).where(Recording.job_id == clip.job_id, Recording.number == int(clip.recording))
    )
    assert row is not None  # its speakers are known
    if row.sound_gone_at is not None:
        return HeardClip(clip, "", "its sound is not kept any more")
    where = folder / row.folder
    talk = kept_talk(where / HEARD_JOURNAL)
    if talk is None:
        return HeardClip(clip, "", "its words are not kept any more")
    within = [one for one in talk if one.start_s < clip.end_s and clip.start_s < one.end_s]
    spans = name_spans([one for one in talk if one.start_s < ends and begins < one.end_s], names)
    heard = (part for one in within if (part := heard_part(one, begins, ends)) is not None)
    said = tuple(Utterance(without_names(one.text, names), one.start_s, one.end_s) for one in heard)
    words = " ".join(one.text for one in said)
    return HeardClip(clip, words, "", said, tuple(spans), where)


def heard_part(said: Utterance, begins: float, ends: float) -> Utterance | None:
    """Return what of an utterance is heard in a stretch; None where it is nothing that can be told.

    A word belongs to it by its middle. Where nobody knows the words' times, all of them do, or, where less
    than half of the utterance is in it, none: a caption must not say what nobody hears.

    Args:
        said: with the times of its words, or without.
        begins: of the stretch, seconds of the recording.
        ends: likewise.
    """
    if not said.text.strip():
        return None
    start, end = max(said.start_s, begins), min(said.end_s, ends)
    if (start, end) == (said.start_s, said.end_s):
        return said
    if not said.words:
        mostly = end - start >= (said.end_s - said.start_s) / 2
        return replace(said, start_s=start, end_s=end) if mostly else None
    words = tuple(one for one in said.words if begins <= (one.start_s + one.end_s) / 2 <= ends)
    if not words:
        return None
    text = " ".join(one.text for one in words)
    return replace(said, text=text, start_s=start, end_s=end, words=words)


def _sound(one: HeardClip) -> tuple[float, Samples] | None:
    """Return where a clip's sound begins, and the sound; None where there is none."""
    if one.refusal or one.folder is None:
        return None
    begins = max(0.0, one.clip.start_s - AROUND_S)
    try:
        samples = clip_samples(one.folder, begins, one.clip.end_s + AROUND_S)
    except NotKept:
        return None
    if not len(samples):
        return None
    return begins, _as_loud(silenced(samples, begins, one.spans))


def _as_loud(samples: Samples) -> Samples:
    sound = samples.astype(np.float64) / 32768
    loud, peak = float(np.sqrt(np.mean(sound**2))), float(np.abs(sound).max())
    if loud == 0:
        return samples
    gain = min(_LEVEL / loud, _MOST_GAIN, _PEAK / peak)
    return np.round(sound * gain * 32767).astype(np.int16)
