"""The spaCy pipeline: our token stream in, labelled phrases of sheet, lexicon and cues out.

A blank English pipeline with the shop tokenizer and a phrase ruler. What the trained recogniser adds is asked
for behind it (:mod:`extract.learnt_talk`).
"""

from __future__ import annotations

from collections import OrderedDict, defaultdict
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache
from threading import Lock

import spacy
from spacy.language import Language
from spacy.tokens import Doc, Span
from spacy.vocab import Vocab

from extract.cues import load_cues
from extract.near_sounds import near_sound_of, words_by_near_sound
from extract.other_machines import own_words
from extract.packed_phrases import PackedPhrases
from extract.sheet_phrases import Phrase, fixed_lexicon, lexicon_phrases, sheet_phrases
from extract.sounding import sound_of
from extract.spoken_forms import cut_form, spellings
from extract.tokens import Token, tokenize
from extract.word_sets import word_set
from shared.job_sheet import JobSheet
from shared.units import unit_registry

#: Words that only say how much; they part no finding's phrase.
DEGREES = word_set("pipeline.degrees")
#: Where the ruler leaves what it found.
PHRASES = "phrases"


class ShopTokenizer:
    """Makes a spaCy document of our token stream; the words are the tokens' normal forms."""

    def __init__(self, vocab: Vocab) -> None:
        self.vocab = vocab

    def __call__(self, text: str) -> Doc:
        """Cut a text; used where a whole text is given to the pipeline."""
        return self.document(tokenize(text))

    def document(self, tokens: Sequence[Token]) -> Doc:
        """Make a document of tokens that are cut already."""
        return self.of_words([token.norm for token in tokens])

    def of_words(self, words: Sequence[str]) -> Doc:
        """Make a document of words."""
        return Doc(self.vocab, words=list(words))


class PhraseRuler:
    """Finds every known phrase, longest and shorter alike; who wins is decided by the reader.

    Looked up in a table of its own: the library's matcher takes half a second to learn thirty thousand
    phrases, which everybody would wait for at every start.

    Args:
        phrases: in the order in which those of the same words are found.
        packed: they are very many, and cost nothing (:class:`extract.packed_phrases.PackedPhrases`).
    """

    def __init__(self, phrases: Iterable[Phrase], *, packed: bool = False) -> None:
        self._lengths: dict[str, list[int]] = {}
        """How long phrases are that begin with a word, the shortest first."""
        self._seconds: dict[str, set[str]] = defaultdict(set)
        """Second words of phrases by their first."""
        noted = self._noted(phrases)
        self._found: PackedPhrases | dict[tuple[str, ...], list[Phrase]] = (
            PackedPhrases(noted) if packed else _by_words(noted)
        )
        for lengths in self._lengths.values():
            lengths.sort()

    def _noted(self, phrases: Iterable[Phrase]) -> Iterator[Phrase]:
        """Yield phrases; note how they begin."""
        for phrase in phrases:
            first, *rest = phrase.words
            lengths = self._lengths.setdefault(first, [])
            if len(phrase.words) not in lengths:
                lengths.append(len(phrase.words))
            if rest:
                self._seconds[first].add(rest[0])
            yield phrase

    def matches(self, words: Sequence[str]) -> list[tuple[Phrase, int, int]]:
        """Return (phrase, first word, word after the last), by where they start and then by length."""
        matches: list[tuple[Phrase, int, int]] = []
        line = tuple(words)
        for start, first in enumerate(line):
            for length in self._lengths.get(first, ()):
                if length > 1 and (start + length > len(line) or line[start + 1] not in self._seconds[first]):
                    break
                found = self._found.get(line[start : start + length])
                if found is not None:
                    matches += [(phrase, start, start + length) for phrase in found]
        return matches

    def __call__(self, doc: Doc) -> Doc:
        """Write what was found to ``doc.spans`` with the kind as label and the name as id."""
        doc.spans[PHRASES] = [
            Span(doc, start, end, label=phrase.kind, span_id=phrase.key)
            for phrase, start, end in self.matches([token.text for token in doc])
        ]
        return doc


class TalkPipeline:
    """One sheet's pipeline."""

    def __init__(self, sheet: JobSheet) -> None:
        self.nlp: Language = english()
        self.tokenizer: ShopTokenizer = self.nlp.tokenizer  # type: ignore[assignment]
        known = _known_words()
        self.machine_words = own_words(sheet)
        """What this machine is called, in single words."""
        self.never_timed = frozenset(
            name for name, item in sheet.measured.items() if item.measured_kind in ("torque", "speed")
        )
        """Items whose values no figures of the clock tell."""
        own = sheet_phrases(sheet, known)
        phrases = [*own, *lexicon_phrases(sheet, known)]
        self._near = words_by_near_sound(p.words for p in own if p.kind in ("part", "item"))
        self.words = frozenset(word for phrase in phrases for word in phrase.words) | known
        self._sheet_ruler = PhraseRuler(phrases)
        self._cue_ruler = _cue_ruler()
        # Built with the pipeline: the first misheard word and the first unit shall not wait for them.
        self._own_sounds = _by_sound(self.words - _lexicon_words())
        _sounds_of_lexicon()
        unit_registry()

    def sounding_like(self, sound: str) -> tuple[str, ...]:
        """Return the known words of a sound, in the order of the alphabet."""
        general = _sounds_of_lexicon().get(sound, ())
        return tuple(sorted({*general, *self._own_sounds.get(sound, ())}))

    def nearly_sounding(self, word: str) -> tuple[str, ...]:
        """Return the words of the sheet's longer names that a word nobody knows nearly sounds like."""
        return () if word in self.words else self._near.get(near_sound_of(word), ())

    def matches(self, words: Sequence[str]) -> list[tuple[Phrase, int, int]]:
        """Return every phrase of sheet, lexicon and cues in a run of words."""
        return [*self._sheet_ruler.matches(words), *self._strengthened(words), *self._cues(words)]

    def _strengthened(self, words: Sequence[str]) -> list[tuple[Phrase, int, int]]:
        """Return findings and actions with a word of degree inside ("wore plumb out")."""
        places = [i for i, word in enumerate(words) if word not in DEGREES]
        if len(places) == len(words):
            return []
        found = self._sheet_ruler.matches([words[i] for i in places])
        return [
            (phrase, places[start], places[end - 1] + 1)
            for phrase, start, end in found
            if phrase.kind in ("condition", "action") and places[end - 1] - places[start] >= end - start
        ]

    def _cues(self, words: Sequence[str]) -> list[tuple[Phrase, int, int]]:
        """Return cues; a comma inside one ("no, sorry") does not part it."""
        places = [i for i, word in enumerate(words) if word not in (",", "'")]
        if len(places) == len(words):
            return self._cue_ruler.matches(words)
        found = self._cue_ruler.matches([words[i] for i in places])
        return [(phrase, places[start], places[end - 1] + 1) for phrase, start, end in found]

    def sheet_matches(self, words: Sequence[str]) -> list[tuple[Phrase, int, int]]:
        """Return phrases of sheet and lexicon only."""
        return self._sheet_ruler.matches(words)

    def document(self, tokens: Sequence[Token]) -> Doc:
        """Return the spaCy document of an utterance with its phrases."""
        return self._sheet_ruler(self.tokenizer.document(tokens))


_lately: OrderedDict[str, TalkPipeline] = OrderedDict()
_LATELY_KEPT = 8
_lock = Lock()


def pipeline_of(sheet: JobSheet) -> TalkPipeline:
    """Return a sheet's pipeline, made once for the sheets worked by lately: hearing changes nothing of it.

    It takes a quarter of a second to make, and a shop's jobs share a few sheets.
    """
    key = sheet.model_dump_json(by_alias=True)
    with _lock:
        made = _lately.get(key)
        if made is None:
            made = _lately[key] = TalkPipeline(sheet)
        _lately.move_to_end(key)
        while len(_lately) > _LATELY_KEPT:
            _lately.popitem(last=False)
        return made


@lru_cache(maxsize=1)
def english() -> Language:
    """Return the library's blank English with our tokenizer, made once."""
    nlp = spacy.blank("en")
    nlp.tokenizer = ShopTokenizer(nlp.vocab)
    return nlp


@lru_cache(maxsize=1)
def _cue_ruler() -> PhraseRuler:
    phrases = (
        Phrase("cue", name, words, form, 0.0)
        for name, forms in load_cues().items()
        for form in forms
        for words in spellings(form)
    )
    return PhraseRuler(phrases, packed=True)


def _by_words(phrases: Iterable[Phrase]) -> dict[tuple[str, ...], list[Phrase]]:
    found: dict[tuple[str, ...], list[Phrase]] = {}
    for phrase in phrases:
        found.setdefault(phrase.words, []).append(phrase)
    return found


def _by_sound(words: Iterable[str]) -> dict[str, tuple[str, ...]]:
    table: dict[str, list[str]] = defaultdict(list)
    for word in sorted(words):
        if word.isalpha() and len(word) > 2:
            table[sound_of(word)].append(word)
    return {sound: tuple(group) for sound, group in table.items()}


@lru_cache(maxsize=1)
def _lexicon_words() -> frozenset[str]:
    """Return the words that every sheet's pipeline knows."""
    return _known_words() | {word for phrase in fixed_lexicon() for word in phrase.words}


@lru_cache(maxsize=1)
def _sounds_of_lexicon() -> dict[str, tuple[str, ...]]:
    return _by_sound(_lexicon_words())


@lru_cache(maxsize=1)
def _known_words() -> frozenset[str]:
    return frozenset(word for forms in load_cues().values() for form in forms for word in cut_form(form))
