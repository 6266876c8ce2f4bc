"""What the recogniser learns from: bench talk labelled by the rules, its words exchanged for strange ones.

Three sources, all of this project's own writing: the natural talk of the speech vocabulary, labelled by the
rules themselves; frames filled with trade words that no list of the reader holds; lines labelled by hand. A
span's words are then exchanged for rare and invented ones, so that it is known by its company, not by heart.
"""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from random import Random

from extract.heard import prepare
from extract.pipeline import TalkPipeline
from extract.predicates import predicates_of
from extract.state_sense import COPULAS
from extract.tokens import tokenize
from shared.data_files import read_data
from shared.job_sheet import load_job_sheet, shipped_sheet_ids
from shared.speech import Utterance

TEXT = Path(__file__).with_name("recogniser_text")
NATURAL = Path(__file__).parents[1] / "capture" / "vocabulary" / "text" / "natural"
LABELS = {"P": "PART", "C": "CONDITION", "A": "ACTION", "M": "MEASURE"}
_FORMS = {"P": "parts", "Q": "plural_parts", "C": "adjectives", "N": "nouns", "G": "gone", "A": "past",
          "M": "measures", "H": "household"}  # fmt: skip
_LABEL_OF = {"P": "PART", "Q": "PART", "C": "CONDITION", "N": "CONDITION", "G": "CONDITION", "A": "ACTION",
             "M": "MEASURE", "H": ""}  # fmt: skip
_DETERMINERS = ("the", "the", "the", "the", "this", "that", "old", "the old", "the bottom", "the other", "")
_ACTIVE = frozenset({"i", "we", "'ve", "and", "just", "then", "so", "already"})
_PASSIVE = COPULAS | {"been", "got", "gets", "be"}
_LED = frozenset({"some", "a", "the", "of", "got", "has", "no", "more", "little", "any"})
_MARKED = re.compile(r"\[([PCAM]) ([^\]]+)\]")
#: How many lines of natural talk get other words, how many words are invented ones.
_EXCHANGED, _INVENTED = 0.75, 0.4
_NATURAL, _FRAMES, _CHATTER = 14000, 9000, 2500
_DRAW = 3
#: A word of natural talk said so often is known; one on a list of strange words has to be said more often.
_OFTEN, _VERY_OFTEN = 4, 40


@dataclass(frozen=True)
class Example:
    """Words in normal form, and (label, first, after the last) of what they name."""

    words: tuple[str, ...]
    spans: tuple[tuple[str, int, int], ...]


@dataclass(frozen=True)
class _Piece:
    """A run of words; ``form`` is that of its list in words.yaml, ``label`` what it names."""

    words: tuple[str, ...]
    label: str = ""
    form: str = ""


def words_of_text(text: str) -> tuple[str, ...]:
    """Return a text as the reader's words."""
    return tuple(token.norm for token in tokenize(text))


def marked_line(line: str) -> Example:
    """Read a line with its spans in brackets ("the [P tang] is [C gammy]").

    Raises:
        ValueError: a bracket that is none of ours.
    """
    return _assembled(_marked_pieces(line.removeprefix("chat:")))


def marked_lines(name: str) -> list[str]:
    """Return the lines of one file of ``recogniser_text`` without comments."""
    lines = (TEXT / name).read_text(encoding="utf-8").splitlines()
    return [line.strip() for line in lines if line.strip() and not line.startswith("#")]


def word_lists() -> dict[str, tuple[str, ...]]:
    """Return the lists of trade words by form, the frames by kind."""
    data = read_data(TEXT / "words.yaml")
    return {
        name: tuple(part.strip() for part in text.split("|" if "frames" in name else ",") if part.strip())
        for name, text in data.items()
    }


class TrainingText:
    """The sources, read once; every round fills and exchanges their words anew.

    Args:
        never: words of the held-out spans; what holds one of them is never learnt from.
    """

    def __init__(self, never: frozenset[str]) -> None:
        self._never = never
        self._lists = word_lists()
        self._natural = self._natural_pieces()
        self._marked = list(_marked_by_hand())

    def known_words(self) -> frozenset[str]:
        """Return the words that the natural talk says often; all others look alike to the model."""
        said = Counter(word for pieces in self._natural for piece in pieces for word in piece.words)
        strange = {
            word for form in _FORMS.values() for phrase in self._lists[form] for word in phrase.split()
        }
        often = {word for word, count in said.items() if count >= _OFTEN and word.isalpha()}
        return frozenset(often - self._never - {word for word in strange if said[word] < _VERY_OFTEN})

    def examples(self, seed: int) -> list[Example]:
        """Return the examples of one round, shuffled."""
        rng = Random(seed)  # noqa: S311  not for secrets
        made = [*self._from_natural(rng), *self._framed(rng), *self._by_hand(rng)]
        kept = [e for e in dict.fromkeys(made) if e.words and not self._never & set(e.words)]
        rng.shuffle(kept)
        return kept

    def _natural_pieces(self) -> list[list[_Piece]]:
        """Return lines of the natural talk, drawn once, cut at what the rules find in them."""
        pipelines = [TalkPipeline(load_job_sheet(name)) for name in sorted(shipped_sheet_ids())]
        named = {tuple(form.split()) for form in (*self._lists["parts"], *self._lists["plural_parts"])}
        of_file = [
            (path, [line for line in path.read_text(encoding="utf-8").splitlines() if line])
            for path in sorted(NATURAL.glob("*.txt"))
        ]
        best = {path: max(pipelines, key=lambda p: _items_named(p, lines[:20])) for path, lines in of_file}
        said = [(path, line) for path, lines in of_file for line in lines]
        drawn = Random(_DRAW).sample(said, min(_NATURAL, len(said)))  # noqa: S311  not for secrets
        return [_ruled_pieces(best[path], line, named) for path, line in drawn]

    def _from_natural(self, rng: Random) -> Iterator[Example]:
        for pieces in self._natural:
            exchanged = rng.random() < _EXCHANGED and any(piece.form for piece in pieces)
            yield _assembled(_exchanged(rng, self._lists, pieces) if exchanged else pieces)

    def _framed(self, rng: Random) -> Iterator[Example]:
        frames = [*self._lists["frames"], *self._lists["frames"], *self._lists["part_frames"]]
        for _ in range(_FRAMES):
            yield _assembled(_filled(rng, self._lists, rng.choice(frames), named=True))
        for _ in range(_CHATTER):
            yield _assembled(
                _filled(rng, self._lists, rng.choice(self._lists["chatter_frames"]), named=False)
            )

    def _by_hand(self, rng: Random) -> Iterator[Example]:
        for pieces in self._marked:
            yield _assembled(pieces)
            for _ in range(3 if any(piece.label for piece in pieces) else 0):
                yield _assembled(_exchanged(rng, self._lists, pieces))


def _marked_by_hand() -> Iterator[list[_Piece]]:
    pipeline = TalkPipeline(load_job_sheet(sorted(shipped_sheet_ids())[0]))
    for line in marked_lines("lines.txt"):
        pieces = _marked_pieces(line.removeprefix("chat:"))
        yield pieces if line.startswith("chat:") else _with_rules(pipeline, pieces)


# -- pieces -----------------------------------------------------------------------------------


def _marked_pieces(line: str) -> list[_Piece]:
    pieces: list[_Piece] = []
    at = 0
    for match in _MARKED.finditer(line):
        pieces.append(_Piece(words_of_text(line[at : match.start()])))
        letter, words = match[1], words_of_text(match[2])
        form = {"P": "Q" if words[-1].endswith("s") and not words[-1].endswith("ss") else "P"}.get(
            letter, letter
        )
        before = pieces[-1].words[-1:]
        if letter == "C":
            form = _condition_form(words, before[0] if before else "")
        pieces.append(_Piece(words, LABELS[letter], form))
        at = match.end()
    rest = line[at:]
    if "[" in rest or "]" in rest:
        raise ValueError(f"recogniser text: a bracket that is none of P, C, A, M in {line!r}")
    pieces.append(_Piece(words_of_text(rest)))
    return [piece for piece in pieces if piece.words]


def _ruled_pieces(pipeline: TalkPipeline, line: str, named: set[tuple[str, ...]]) -> list[_Piece]:
    """Cut a line of natural talk at what the rules find in it; a listed strange part counts as a part."""
    heard = prepare(pipeline, 0, Utterance(line, 0.0, 1.0))
    words = tuple(token.norm for token in heard.tokens)
    spans: list[tuple[int, int, str, str]] = []
    for predicate in predicates_of(heard):
        if predicate.split is None and not predicate.repairs:
            start, end = predicate.start, predicate.end
            before = words[start - 1] if start else ""
            if predicate.kind == "condition":
                spans.append((start, end, "CONDITION", _condition_form(words[start:end], before)))
            else:
                spans.append((start, end, "ACTION", _action_form(words[start:end], before)))
    for mention in heard.mentions.of("part", "other_part", "item"):
        if mention.cost < 1 and not mention.repairs:
            label = "MEASURE" if mention.kind == "item" else "PART"
            plural = words[mention.end - 1].endswith("s") and not words[mention.end - 1].endswith("ss")
            spans.append(
                (mention.start, mention.end, label, "M" if label == "MEASURE" else "Q" if plural else "P")
            )
    for start in range(len(words)):
        for end in range(start + 1, min(start + 4, len(words)) + 1):
            if words[start:end] in named and (start and words[start - 1] in _LED):
                spans.append((start, end, "PART", "P"))
    return _cut(words, spans)


def _with_rules(pipeline: TalkPipeline, pieces: Sequence[_Piece]) -> list[_Piece]:
    """Add to a line labelled by hand what the rules know; only what they do not know was labelled."""
    words = tuple(word for piece in pieces for word in piece.words)
    spans, at = [], 0
    for piece in pieces:
        if piece.label:
            spans.append((at, at + len(piece.words), piece.label, piece.form))
        at += len(piece.words)
    taken = {i for start, end, _, _ in spans for i in range(start, end)}
    at = 0
    for piece in _ruled_pieces(pipeline, " ".join(words), set()):
        end = at + len(piece.words)
        if piece.label and not taken & set(range(at, end)) and words[at:end] == piece.words:
            spans.append((at, end, piece.label, piece.form))
        at = end
    return _cut(words, spans)


def _cut(words: tuple[str, ...], spans: Sequence[tuple[int, int, str, str]]) -> list[_Piece]:
    """Cut words at spans, the longest first where they overlap."""
    chosen: list[tuple[int, int, str, str]] = []
    for span in sorted(spans, key=lambda s: (s[0] - s[1], s)):
        if not any(span[0] < other[1] and other[0] < span[1] for other in chosen):
            chosen.append(span)
    pieces, at = [], 0
    for start, end, label, form in sorted(chosen):
        pieces += [_Piece(words[at:start]), _Piece(words[start:end], label, form)]
        at = end
    return [piece for piece in (*pieces, _Piece(words[at:])) if piece.words]


def _condition_form(words: Sequence[str], before: str) -> str:
    """Return the list whose words can stand in for a finding; empty where none can."""
    if words[0] in ("gone", "had", "lost", "taken", "come", "let", "given", "seen", "thrown", "worked"):
        return "G"
    if before in COPULAS or before in ("looks", "look", "came", "out", "off", "gone", "bit", "very", "all"):
        return "C"
    return "N" if before in _LED or words[-1].endswith(("ing", "s")) else ""


def _action_form(words: Sequence[str], before: str) -> str:
    past = words[0].endswith(("ed", "nt")) or words[0] in ("put", "took", "cut", "threw")
    return "A" if past and (not before or before in _ACTIVE or before in _PASSIVE) else ""


def _items_named(pipeline: TalkPipeline, lines: Sequence[str]) -> int:
    return sum(
        phrase.kind == "item" for line in lines for phrase, _, _ in pipeline.matches(words_of_text(line))
    )


# -- filling ----------------------------------------------------------------------------------


def _exchanged(rng: Random, lists: dict[str, tuple[str, ...]], pieces: Sequence[_Piece]) -> list[_Piece]:
    """Exchange the words of what is named, each with four chances in five."""
    return [
        _Piece(_strange(rng, lists, piece.form), piece.label, piece.form)
        if piece.form and rng.random() < 0.8
        else piece
        for piece in pieces
    ]


def _filled(rng: Random, lists: dict[str, tuple[str, ...]], frame: str, *, named: bool) -> list[_Piece]:
    pieces = []
    for part in re.split(r"(\{\w+\})", frame):
        slot = part[1:-1].rstrip("2")
        if not part.startswith("{"):
            pieces += _marked_pieces(part)
        elif slot == "det":
            pieces.append(_Piece(words_of_text(rng.choice(_DETERMINERS))))
        elif slot == "num":
            amount = f"{rng.choice(lists['numbers'])} {rng.choice(lists['units'])}"
            pieces.append(_Piece(words_of_text(amount)))
        else:
            label = _LABEL_OF[slot] if named else ""
            pieces.append(_Piece(_strange(rng, lists, slot), label, slot))
    return [piece for piece in pieces if piece.words]


def _strange(rng: Random, lists: dict[str, tuple[str, ...]], form: str) -> tuple[str, ...]:
    """Return a trade word of a form, or one that was never said before."""
    if rng.random() >= _INVENTED or form in ("G", "H"):
        return words_of_text(rng.choice(lists[_FORMS[form]]))
    return (*_leading_noun(rng, lists, form), _invented(rng, lists, form))


def _leading_noun(rng: Random, lists: dict[str, tuple[str, ...]], form: str) -> tuple[str, ...]:
    if form not in ("P", "Q") or rng.random() < 0.7:
        return ()
    return (words_of_text(rng.choice(lists["parts"]))[0],)


def _invented(rng: Random, lists: dict[str, tuple[str, ...]], form: str) -> str:
    syllables = ("onsets", "nuclei", "codas") * rng.choice((1, 1, 2))
    stem = "".join(rng.choice(lists[name]) for name in syllables)
    ending = {
        "P": ("", "", "er", "le", "et"), "Q": ("s", "ers", "les"), "C": ("ed", "ed", "y", "en"),
        "N": ("ing", "s", "age"), "A": ("ed", "ed", "ed", "t"), "M": ("", "age", "th", "ness", "ion", "ity"),
    }[form]  # fmt: skip
    return stem + rng.choice(ending)


def _assembled(pieces: Sequence[_Piece]) -> Example:
    words: list[str] = []
    spans = []
    for piece in pieces:
        if piece.label:
            spans.append((piece.label, len(words), len(words) + len(piece.words)))
        words += piece.words
    return Example(tuple(words), tuple(spans))
