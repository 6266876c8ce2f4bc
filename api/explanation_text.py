"""The path from words to entries, laid out for a person; as JSON for programs."""

from __future__ import annotations

import json
import shutil
import sys
from collections.abc import Iterable, Iterator, Sequence
from itertools import groupby
from typing import TextIO

from api.report.wording import clock, item_words
from api.screen import columns, printable, wrapped
from extract.explanation import Explanation, Link, Outcome, Way, Worth
from shared.sheet_entries import words_of
from shared.units import SYMBOLS

#: Rows of one matter; an utterance of a hundred thousand words has no end of them.
_ROWS = 30
#: Values that an amount may have at one item; the dearer ones are refused.
_WORTHS = 3
#: Characters of the words, and of one cell.
_WORDS, _CELL = 1500, 160
_WIDTH, _NARROWEST, _WIDEST = 100, 72, 120
_TALK = {
    "job": "talk of the job",
    "command": "a command",
    "paused": "said in a pause",
    "chatter": "chatter: nothing is filed of it",
}
_MOODS = {
    "stated": "stated",
    "question": "asked",
    "conditional": "supposed",
    "future": "yet to come",
    "elsewhere": "of another machine or time",
}


def print_explanations(
    explained: Sequence[Explanation], *, as_json: bool, stream: TextIO | None = None
) -> None:
    """Print explanations, one utterance below the other."""
    stream = stream or sys.stdout
    if as_json:
        data = {"explained": [explanation.to_data() for explanation in explained]}
        print(json.dumps(data, ensure_ascii=False, indent=2), file=stream)
        return
    width = shutil.get_terminal_size().columns if stream.isatty() else _WIDTH
    width = max(_NARROWEST, min(width, _WIDEST))
    for n, explanation in enumerate(explained):
        for line in [""] * (n > 0) + explanation_lines(explanation, width):
            print(printable(line, stream.encoding), file=stream)


def explanation_lines(explanation: Explanation, width: int = _WIDTH) -> list[str]:
    """Return an explanation line by line.

    Args:
        explanation: what to show.
        width: of the screen, columns.
    """
    head = f"{explanation.utterance + 1}  {clock(explanation.start_s)}  "
    lines = wrapped(f"{head}“{_cut(explanation.words, _WORDS)}”", width)
    for title, rows in _sections(explanation):
        if not rows:
            continue
        cells = [tuple(_cut(cell, _CELL) for cell in row) for row in rows[:_ROWS]]
        lines += [f"  {title.upper()}", *(f"  {line}" for line in columns(cells, width - 2))]
        if len(rows) > _ROWS:
            lines.append(f"    … and {len(rows) - _ROWS} more; --json shows all")
    return lines


def _sections(explained: Explanation) -> Iterator[tuple[str, list[tuple[str, ...]]]]:
    yield "Taken as", [(_TALK.get(explained.talk, explained.talk), explained.why)]
    yield "Read as", [(_cut(" ".join(explained.tokens), _CELL),)] if explained.tokens else []
    yield "Before it", [(line,) for line in explained.before]
    yield "Named", [(f"“{n.words}”", n.kind, " or ".join(n.names), n.found_by) for n in explained.named]
    yield "Clauses", _clause_rows(explained)
    yield "Amounts (cost: lower is likelier)", _amount_rows(explained)
    yield "Worth for an item and its plausible range", _worth_rows(explained)
    yield "Ways to put it together, the cheapest first", _way_rows(explained.ways)
    yield "Doubts", [(doubt.about, doubt.reason, f"found by: {doubt.rule}") for doubt in explained.doubts]
    yield "Entries", [row for outcome in explained.outcomes for row in _outcome_rows(outcome)]
    yield "Left out", [(f"“{left.what}”", left.why) for left in explained.left_out]


def _clause_rows(explained: Explanation) -> list[tuple[str, ...]]:
    plain = len(explained.clauses) == 1 and explained.clauses[0].mood == "stated"
    rows: list[tuple[str, ...]] = []
    for clause in explained.clauses:
        # One plain statement needs no line of its own.
        if clause.hedged or not plain:
            doubt = ", with a doubt" if clause.hedged else ""
            rows.append((f"“{clause.words}”", f"{_MOODS[clause.mood]}{doubt}"))
    return rows + [
        (f"“{barred.words}”", f"barred from readings: {barred.why}") for barred in explained.barred
    ]


def _amount_rows(explained: Explanation) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for words, amounts in groupby(explained.amounts, key=lambda amount: amount.words):
        for n, amount in enumerate(sorted(amounts, key=lambda a: a.cost)):
            value = "nobody counted" if amount.value is None else amount.value
            unit = f" {words_of(amount.unit)}" if amount.unit else ", no unit"
            about = "about " if amount.about else ""
            rows.append((f"“{words}”" if n == 0 else "", f"{about}{value}{unit}", f"{amount.cost:.2f}"))
    return rows


def _worth_rows(explained: Explanation) -> list[tuple[str, ...]]:
    """Return what amounts may be worth for the items that the ways shown speak of, the cheapest first."""
    items = {link.item for way in explained.ways for link in way.links}
    best: dict[tuple[str, str], dict[str, Worth]] = {}
    for worth in sorted(explained.worth, key=lambda worth: worth.cost):
        if worth.item in items:
            best.setdefault((worth.words, worth.item), {}).setdefault(worth.value, worth)
    said = list(dict.fromkeys(worth.words for worth in explained.worth))
    rows: list[tuple[str, ...]] = []
    for (words, item), found in sorted(best.items(), key=lambda pair: said.index(pair[0][0])):
        for n, worth in enumerate(list(found.values())[:_WORTHS]):
            span = f", {worth.range}" if worth.range else ""
            name = (f"“{words}”", f"{words_of(item)}{span}") if n == 0 else ("", "")
            verdict = "allowed" if worth.plausible else "refused"
            value = f"{worth.value} {SYMBOLS[worth.unit]}".rstrip()
            rows.append((*name, value, worth.how, verdict, f"{worth.cost:.2f}"))
    return rows


def _way_rows(ways: Iterable[Way]) -> list[tuple[str, ...]]:
    rows: list[tuple[str, ...]] = []
    for words, group in groupby(ways, key=lambda way: way.words):
        listed = list(group)
        for n, way in enumerate(listed):
            said = [_link_words(link) for link in way.links] or ["no reading"]
            note = _way_note(way)
            for k, text in enumerate(said):
                rows.append(
                    (
                        f"“{_cut(words, 40)}”" if n == 0 and k == 0 else "",
                        f"{way.cost:.2f}" if k == 0 else "",
                        text,
                        note if k == 0 else "",
                    )
                )
    return rows


def _way_note(way: Way) -> str:
    if not way.taken:
        return ""
    right = "taken, puts right what was said" if way.puts_right else "taken"
    return f"{right}; {way.refused} of it not let stand" if way.refused else right


def _link_words(link: Link) -> str:
    place = f", place {link.position}" if link.position else ""
    value = "no value" if link.value is None else f"{link.value} {SYMBOLS[link.unit]}".rstrip()
    return f"{words_of(link.item)}{place} = {value} ({link.item_from})"


def _outcome_rows(outcome: Outcome) -> Iterator[tuple[str, ...]]:
    sign = {"filed": "✓", "asked": "?", "replaced": "–"}.get(outcome.status, "")
    label = f"{outcome.kind} {outcome.id}".rstrip()
    yield (f"{sign} {outcome.status}", label, outcome.text)
    yield ("", "", f"rule: {outcome.rule}")
    if outcome.reason:
        told = "why asked" if outcome.status == "asked" else "why"
        yield ("", "", f"{told}: {outcome.reason}")
    if outcome.question:
        yield ("", "", f"question: {item_words(outcome.question)}")
    if outcome.replaced_by:
        yield ("", "", f"replaced by {outcome.replaced_by}")


def _cut(text: str, most: int) -> str:
    """Return text that a terminal shows as it is: no control signs, and not more than so many characters."""
    short = text if len(text) <= most else f"{text[:most]} …"
    return "".join(sign if sign.isprintable() else " " for sign in short)
