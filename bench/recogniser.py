"""What the trained recogniser finds in words that nothing held, and what it adds to the rules alone.

The held-out lines of two hands (``recogniser_text/held_out*.txt``; the second did not make it) stand in no
training text, and no word of their spans in the lexicon. First the spans by themselves, then whole
utterances: a span counts as kept where the record asks about it by its name; chatter must make no entry.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Any

from bench.recogniser_examples import LABELS, Example, marked_line, marked_lines
from bench.speech_scoring import upper_bound
from bench.train_recogniser import SMALL_WORDS
from extract.learnt_talk import LEAST_SURE
from extract.pipeline import TalkPipeline, pipeline_of
from extract.recogniser import recogniser
from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet, shipped_sheet_ids
from shared.record import ConditionEntry, Entry, NoteEntry, PartEntry
from shared.speech import Utterance

SHEET = "wash-water-end-suction"
_NAMED = ("part", "other_part", "item", "condition", "action")
#: Said before every line, so that each comes in the midst of a job; it leaves the talk about the impeller.
_BEFORE = ("right we're on the wash water pump", "impeller is off and it's good")


@dataclass(frozen=True)
class Line:
    """A held-out line."""

    text: str
    example: Example
    chatter: bool


def lines_of(name: str) -> list[Line]:
    """Return the lines of a file of ``recogniser_text``, without the spans that the lexicon holds by now."""
    lines = []
    for marked in marked_lines(name):
        chatter = marked.startswith("chat:")
        plain = marked.removeprefix("chat:").strip()
        for letter in LABELS:
            plain = plain.replace(f"[{letter} ", "").replace("]", "")
        example = marked_line(marked)
        spans = tuple(s for s in example.spans if not _listed(example.words[s[1] : s[2]]))
        if spans or chatter:
            lines.append(Line(plain, Example(example.words, spans), chatter))
    return lines


def _listed(words: tuple[str, ...]) -> bool:
    """Whether the lexicon or a shipped sheet has any of these words, small ones apart."""
    return any(
        phrase.kind in _NAMED and not set(words[start:end]) <= SMALL_WORDS
        for pipeline in _pipelines()
        for phrase, start, end in pipeline.matches(words)
    )


@cache
def _pipelines() -> list[TalkPipeline]:
    return [pipeline_of(load_job_sheet(name)) for name in shipped_sheet_ids()]


def measure() -> dict[str, Any]:
    """Return the figures as plain data."""
    return {
        "held out by its maker": _figures(lines_of("held_out.txt")),
        "held out by another hand": _figures(lines_of("held_out_other_hand.txt")),
    }


def _figures(lines: Sequence[Line]) -> dict[str, Any]:
    chats = sum(line.chatter for line in lines)
    return {
        "lines": f"{len(lines) - chats} and {chats} of chatter",
        "spans": _spans(lines),
        "rules alone": records(lines, learnt=False),
        "with the recogniser": records(lines, learnt=True),
        "a line, ms": _spent_ms(lines),
    }


def _spans(lines: Sequence[Line]) -> dict[str, str]:
    """Return precision and recall by label, at the confidence that entries need."""
    figures = {}
    found = [(line, recogniser().find(line.example.words)) for line in lines]
    for label in LABELS.values():
        right = wrong = wanted = 0
        for line, spans in found:
            marked = {span for span in line.example.spans if span[0] == label}
            got = {
                (s.label, s.start, s.end)
                for s in spans
                if s.label == label and s.confidence >= LEAST_SURE[label]
            }
            right += len(got & marked)
            wanted += len(marked)
            # Words that the lexicon holds are found too; wrong is what overlaps a mark, or is in chatter.
            wrong += sum(line.chatter or _overlaps(span, line.example) for span in got - marked)
        rates = f"P {right / max(right + wrong, 1):.3f} R {right / wanted:.3f}"
        figures[label] = f"{rates} ({right} of {wanted} found, {wrong} wrong)"
    return figures


def _overlaps(span: tuple[str, int, int], example: Example) -> bool:
    return any(span[1] < end and start < span[2] for _, start, end in example.spans)


def records(lines: Sequence[Line], *, learnt: bool) -> dict[str, Any]:
    """Return what records hold of the lines."""
    kept = dict.fromkeys(LABELS.values(), 0)
    marked = dict.fromkeys(LABELS.values(), 0)
    whole = others = chatter = 0
    for line in lines:
        entries = entries_of(line.text, learnt=learnt)
        if line.chatter:
            chatter += bool(entries)
            continue
        asked = [_shown(entry) for entry in entries if entry.needs_review]
        hits = [span for span in line.example.spans if _name(line.example, span) in " ; ".join(asked)]
        for label, start, end in line.example.spans:
            marked[label] += 1
            kept[label] += (label, start, end) in hits
        whole += len(hits) == len(line.example.spans)
        others += any(not entry.needs_review and _of_another(entry, line.text) for entry in entries)
    total = sum(marked.values())
    chats = sum(line.chatter for line in lines)
    bound = 1000 * upper_bound(chatter, chats)
    return {
        "kept and asked": f"{sum(kept.values())} of {total}",
        **{label: f"{kept[label]} of {marked[label]}" for label in marked},
        "lines with all kept": f"{whole} of {len(lines) - chats}",
        "another part, sure": f"{others} of {len(lines) - chats}",
        "chatter with an entry": f"{chatter} of {chats}, at most {bound:.0f} in 1000",
    }


def entries_of(text: str, *, learnt: bool) -> list[Entry]:
    """Return the entries that one utterance in the midst of a job gives."""
    builder = _builder(learnt)
    for said in _BEFORE:
        builder.hear(Utterance(said, 0.0, 3.0))
    return [entry.model_copy(deep=True) for entry in builder.hear(Utterance(text, 4.0, 7.0))]


@cache
def _builder(learnt: bool) -> RecordBuilder:
    """Return one builder for all lines: to make one takes longer than to hear a line."""
    return RecordBuilder(SHEET, learnt=learnt)


def _name(example: Example, span: tuple[str, int, int]) -> str:
    return " ".join(example.words[span[1] : span[2]])


def _shown(entry: Entry) -> str:
    """Return what an entry says, as it would be asked about."""
    if isinstance(entry, ConditionEntry | PartEntry):
        names = [entry.part, *(c.part for c in entry.candidates if c.part is not None)]
        return " or ".join(names).replace("_", " ")
    return entry.reason or "" if isinstance(entry, NoteEntry) else ""


def _of_another(entry: Entry, text: str) -> bool:
    """Whether a finding or a decision is filed of a part that the words do not name."""
    if not isinstance(entry, ConditionEntry | PartEntry):
        return False
    return not any(word in text for word in entry.part.split("_"))


def _spent_ms(lines: Sequence[Line]) -> float:
    started = time.process_time()
    for line in lines:
        recogniser().find(line.example.words)
    return round(1000 * (time.process_time() - started) / len(lines), 2)
