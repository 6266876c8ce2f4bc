"""One utterance made ready to read: tokens, what they name, clauses, numbers that are no readings."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from extract.clause import Clause, clause_of
from extract.clauses import cut_clauses
from extract.clocked_values import clocked_values
from extract.counted_things import counted_tokens
from extract.mentions import Mentions, find_mentions
from extract.pipeline import TalkPipeline
from extract.recitals import Barred, barred_numbers, named_tokens
from extract.sheet_phrases import WEAK
from extract.tokens import Token, TokenLine, tokenize
from extract.unlisted_names import with_compounds
from shared.speech import Utterance


@dataclass(frozen=True)
class Heard:
    """An utterance, read as far as words alone allow."""

    number: int
    """Its number in the recording, from 0."""
    utterance: Utterance
    tokens: tuple[Token, ...]
    mentions: Mentions
    clauses: tuple[Clause, ...]
    barred: tuple[Barred, ...]
    counted: frozenset[int]
    """Tokens of numbers that count things."""
    named: frozenset[int]
    """Tokens of identifiers."""

    @property
    def walls(self) -> frozenset[int]:
        """Tokens that no reading may use."""
        spoken = {i for b in self.barred for i in range(b.quantity.start, b.quantity.end)}
        if len(self.clauses) > 1:
            # "Going to check vane three again, that's twenty": the place holds, whatever the mood.
            named = [m for m in self.mentions.of("position") if m.cost < WEAK and m.end - m.start > 1]
            spoken -= {i for m in named for i in range(m.start, m.end)}
        return frozenset(spoken | self.named)

    @property
    def asks_figure(self) -> bool:
        """Whether it only asks for a limit or whether a figure is right, so that a figure answers."""
        if any(clause.mood != "question" for clause in self.clauses):
            return False
        asked = any(barred.reason.startswith("asked") for barred in self.barred)
        return asked or bool(self.mentions.cues("limit_before", "limit_after"))

    def clause_at(self, i: int) -> Clause:
        """Return the clause of a token."""
        return clause_of(self.clauses, i)

    def words(self, start: int, end: int) -> str:
        """Return a run of tokens as it was written."""
        if start >= end:
            return ""
        return self.utterance.text[self.tokens[start].start : self.tokens[end - 1].end]

    def norms(self, start: int, end: int) -> list[str]:
        """Return a run of tokens in normal form."""
        return self._all_norms[max(0, start) : end]

    @cached_property
    def _all_norms(self) -> list[str]:
        return [token.norm for token in self.tokens]


def prepare(pipeline: TalkPipeline, number: int, utterance: Utterance, text: str | None = None) -> Heard:
    """Make an utterance ready to read; ``text`` stands in for its own where another hearing is read."""
    spoken = utterance.text if text is None else text
    if text is not None:
        utterance = Utterance(
            text,
            utterance.start_s,
            utterance.end_s,
            utterance.confidence,
            (),
            utterance.engine,
            utterance.recording,
            (),
            utterance.job_score,
        )
    return _named(pipeline, number, utterance, _without_stops_in_letters(tokenize(spoken)))


def read_anew(pipeline: TalkPipeline, heard: Heard, tokens: Sequence[Token]) -> Heard:
    """Return the utterance with some words taken for others, each where it stood."""
    return _named(pipeline, heard.number, heard.utterance, TokenLine(tokens))


def _named(pipeline: TalkPipeline, number: int, utterance: Utterance, tokens: tuple[Token, ...]) -> Heard:
    mentions = with_compounds(tokens, find_mentions(pipeline, tokens))
    clauses = cut_clauses(tokens, mentions)
    return Heard(
        number,
        utterance,
        tokens,
        mentions,
        clauses,
        tuple(barred_numbers(tokens, mentions, clauses)),
        counted_tokens(tokens, mentions),
        named_tokens(tokens, mentions) - clocked_values(tokens, mentions, pipeline.never_timed),
    )


def _without_stops_in_letters(tokens: Sequence[Token]) -> tuple[Token, ...]:
    """Drop the stops of "O.D." and "T.I.R.", so that they read as the letters said."""
    kept = []
    for i, token in enumerate(tokens):
        if token.norm == "." and i and len(tokens[i - 1].norm) == 1 and tokens[i - 1].norm.isalpha():
            touches = tokens[i - 1].end == token.start
            more = i + 1 < len(tokens) and len(tokens[i + 1].norm) == 1 and tokens[i + 1].norm.isalpha()
            inside = i >= 2 and tokens[i - 2].norm == "."
            if touches and (more or inside):
                continue
        kept.append(token)
    return TokenLine(kept)
