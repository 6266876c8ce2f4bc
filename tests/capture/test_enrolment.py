"""Enrolment: the phrases, where they are in a recording, what is learnt, and when nothing is."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pocketsphinx
import pytest

from capture.engines.acoustic_model import AcousticModel, features, read_acoustic_model
from capture.engines.alignment import Aligned, Aligner
from capture.engines.speaker import Speaker
from capture.enrolment import Enrolment, enrol
from capture.enrolment_phrases import enrolment_phrases, phrases_read
from capture.segments import Segment
from capture.speaker_files import find_speaker, forget_speaker, keep_speaker, speaker_names
from capture.vocabulary.pronunciations import dictionary_text, pronunciations_of
from capture.vocabulary.spoken_numbers import NUMBER_WORDS, TENS, UNITS_TO_NINETEEN
from shared.errors import EngineFailed, EnrolmentTooLittle, SettingError, SpeakerUnknown
from shared.speech import Utterance, Word
from tests.capture.bench_talk import PHRASES, phrase_sound

MODEL = Path(pocketsphinx.get_model_path()) / "en-us" / "en-us"
QUIET = np.zeros(12000, np.int16)
SPOKEN = [phrase for phrase in PHRASES if phrase.voice == PHRASES[0].voice]


@pytest.fixture(scope="module")
def model() -> AcousticModel:
    return read_acoustic_model(MODEL)


@pytest.fixture(scope="module")
def aligned(tmp_path_factory: pytest.TempPathFactory) -> list[Aligned]:
    dictionary = tmp_path_factory.mktemp("dictionary") / "words.dict"
    dictionary.write_text(dictionary_text(w for p in SPOKEN for w in p.words.split()), "ascii")
    with Aligner(MODEL, dictionary) as aligner:
        found = [
            aligner.align(phrase.words.split(), np.concatenate([QUIET, phrase_sound(phrase.words), QUIET]))
            for phrase in SPOKEN
        ]
    return [one for one in found if one is not None]


def segment(number: int = 0) -> Segment:
    return Segment(number, 2.0 * number, 2.0 * number + 1.0, np.full(16000, number, np.int16))


def test_the_phrases_hold_every_phone_and_every_number_word(model: AcousticModel) -> None:
    words = {word for phrase in enrolment_phrases() for word in phrase.split()}
    phones = {phone for word in words for phone in pronunciations_of(word)[0].split()}
    assert len(enrolment_phrases()) == 10
    assert set(model.phones) - {"SIL", "+NSN+", "+SPN+"} <= phones
    numbers = {*UNITS_TO_NINETEEN, *TENS[1:]}
    assert numbers | {"hundred", "thousand", "point", "oh", "thou", "half", "quarter"} <= words
    assert NUMBER_WORDS & words


def test_phrases_are_found_whatever_the_pauses() -> None:
    first, second, third, fourth = (phrase.split() for phrase in enrolment_phrases()[:4])
    heard = [["testing", "hello"], first[:6], first[6:], [*second, *third], ["cough"], fourth[:9]]
    read = phrases_read([segment(n) for n in range(6)], heard)
    assert [one.words for one in read] == [tuple(first), (*second, *third), tuple(fourth)]
    assert [one.phrases for one in read] == [1, 2, 1]
    assert [sorted(set(one.segment.samples.tolist())) for one in read] == [[1, 2], [3], [5]]


def test_other_talk_is_no_phrase() -> None:
    assert not phrases_read([segment()], [["we", "went", "to", "the", "office"]])
    assert not phrases_read([], [])


def test_known_words_are_laid_along_the_sound(aligned: list[Aligned]) -> None:
    assert len(aligned) >= 2
    for one in aligned:
        assert one.phones[0].start > 30  # silence stands before
        assert all(a.end <= b.start for a, b in zip(one.phones, one.phones[1:], strict=False))
        assert features(one.cepstra).shape == (len(one.cepstra), 3, 13)


def likelihood(model: AcousticModel, means: np.ndarray, aligned: list[Aligned]) -> float:
    """Mean log likelihood of the frames under equally weighted Gaussians of their phones."""
    found = []
    for one in aligned:
        frames = features(one.cepstra)
        for span in one.phones:
            at = model.phones.index(span.phone)
            spread = (frames[span.start : span.end, :, None] - means[at]) ** 2 / model.variances[at]
            found.append(np.logaddexp.reduce(-0.5 * spread.sum(axis=3), axis=2).mean())
    return float(np.mean(found))


def test_moved_means_are_nearer_to_the_speaker_also_to_what_was_not_learnt(
    model: AcousticModel, aligned: list[Aligned]
) -> None:
    *learnt, kept_back = aligned
    speaker = Speaker(model)
    for one in learnt:
        speaker.learn(one)
    moved = speaker.transform().moved(model.means)
    assert likelihood(model, moved, learnt) > likelihood(model, model.means, learnt) + 0.1
    assert likelihood(model, moved, [kept_back]) > likelihood(model, model.means, [kept_back])


def test_the_same_sound_teaches_the_same(
    model: AcousticModel, aligned: list[Aligned], tmp_path: Path
) -> None:
    for name in ("one", "two"):
        speaker = Speaker(model)
        for one in aligned:
            speaker.learn(one)
        speaker.transform().write(tmp_path / name)
    assert (tmp_path / "one").read_bytes() == (tmp_path / "two").read_bytes()
    lines = (tmp_path / "one").read_text("ascii").splitlines()
    assert lines[:3] == ["1", "3", "13"]
    assert len(lines) == 2 + 3 * (1 + 13 + 2)


def test_nothing_learnt_is_no_transform(model: AcousticModel) -> None:
    with pytest.raises(ValueError, match="nothing was learnt"):
        Speaker(model).transform()


def test_a_damaged_model_is_said_to_be_one(tmp_path: Path) -> None:
    (tmp_path / "mdef").write_bytes(b"no model")
    with pytest.raises(EngineFailed, match="install pocketsphinx again"):
        read_acoustic_model(tmp_path)


class Hears:
    """Stands for the engine: hears given texts in turn, over and over, all words equally sure."""

    def __init__(self, texts: list[str], sure: float = 0.7) -> None:
        self._texts = texts
        self._sure = sure

    def hear(self, segment: Segment) -> Utterance | None:
        text = self._texts[segment.number]
        words = tuple(Word(word, 0.0, 1.0, self._sure) for word in text.split())
        return Utterance(text, segment.start_s, segment.end_s, words=words) if text else None


def recording(count: int) -> list[np.ndarray]:
    """Something said so many times; what, the engine is told."""
    return [np.concatenate([QUIET, phrase_sound(PHRASES[0].words), QUIET]) for _ in range(count)]


def test_too_few_phrases_are_too_little() -> None:
    with pytest.raises(EnrolmentTooLittle, match="5 of the 10 phrases were understood"):
        enrol([recording(5)], Hears([*enrolment_phrases()[:5]]))


@pytest.fixture(scope="module")
def well_heard() -> Enrolment:
    """Learnt of phrases all of whose words were heard right, though other ones were said."""
    return enrol([recording(10)], Hears(list(enrolment_phrases()), 0.62))


def test_numbers_that_were_all_heard_set_no_threshold(well_heard: Enrolment) -> None:
    assert (well_heard.phrases, well_heard.words_wrong, well_heard.threshold) == (10, 0, None)


@pytest.mark.parametrize(("misheard", "threshold"), [(1, None), (2, 0.625)])
def test_numbers_that_were_misheard_more_than_once_set_the_threshold(
    misheard: int, threshold: float | None
) -> None:
    texts = list(enrolment_phrases())
    for at, (said, heard) in enumerate((("thirteen", "thirty"), ("zero", "four"))[:misheard], 1):
        texts[at] = texts[at].replace(said, heard)
    learnt = enrol([recording(10)], Hears(texts, 0.62))
    assert (learnt.phrases, learnt.words_wrong) == (10, misheard)
    assert learnt.threshold == (threshold and pytest.approx(threshold, abs=0.006))


def test_words_that_were_not_said_teach_nothing(well_heard: Enrolment) -> None:
    assert well_heard.transform is None


def test_what_is_kept_can_be_found_and_forgotten(tmp_path: Path, well_heard: Enrolment) -> None:
    kept = keep_speaker("sam", well_heard, tmp_path)
    assert (kept.enrolled.transform, kept.threshold) == (None, None)
    assert kept.enrolled.voice == well_heard.voice
    assert kept.folder.stat().st_mode & 0o077 == 0
    assert speaker_names(tmp_path) == ["sam"]
    assert keep_speaker("sam", well_heard, tmp_path) == find_speaker("sam", tmp_path) == kept
    assert {path.name for path in kept.folder.iterdir()} == {"speaker.json"}
    forget_speaker("sam", tmp_path)
    assert not kept.folder.exists()
    with pytest.raises(SpeakerUnknown, match="nobody else is"):
        find_speaker("sam", tmp_path)


@pytest.mark.parametrize("name", ["", "../other", ".hidden", "a/b"])
def test_a_name_that_no_folder_can_have_is_refused(name: str, tmp_path: Path) -> None:
    with pytest.raises(SettingError):
        find_speaker(name, tmp_path)
