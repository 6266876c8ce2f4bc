"""Where in an utterance a position is named: by words, by a bare number, several at once, all.

"vane three", "at the seal", "three's", "one through five", "both ends", "all five". A bare number is
a position only if the search over the whole utterance says so; here it is offered with a cost.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import lru_cache

from extract.excepted_places import counts_all, rest_of, with_exceptions
from extract.joined_places import joined_cost, joined_places
from extract.mentions import Mentions
from extract.number_words import ONES, ORDINALS, TEENS
from extract.numbers import is_number_word
from extract.spoken_units import is_amount
from extract.tokens import Token
from extract.word_sets import phrase_list, word_set
from shared.job_sheet import JobSheet

#: Stands for every position of whatever item is meant.
ALL = "*"
#: A position that is called like those of the sheet and is none ("vane nine").
UNKNOWN = "?"
#: Stands for the position of a pair that was not spoken of last ("the other end").
OTHER = "^"
#: Stands for the middle one of an odd number of numbered positions.
MIDDLE = "="
#: Stands for the position after the one spoken of last ("the next one").
NEXT = ">"
#: Stands for those of which nothing was said yet ("the rest").
REST = "~"
_NEXTS = tuple(tuple(phrase.split()) for phrase in phrase_list("position_spans.nexts"))
_MIDDLES = tuple(tuple(phrase.split()) for phrase in phrase_list("position_spans.middles"))
#: Behind these a "one" is a pronoun ("the middle one").
_BEFORE_PRONOUN = word_set("position_spans.before_pronoun")
_OTHERS = tuple(tuple(phrase.split()) for phrase in phrase_list("position_spans.others"))
_FIRST_WORDS = {
    key: frozenset(words[0] for words in phrases)
    for phrases, key in ((_OTHERS, OTHER), (_MIDDLES, MIDDLE), (_NEXTS, NEXT))
}
_TOOLS = word_set("position_spans.tools")
_COPULAS = frozenset(
    {"is", "'s", "was", "reads", "reading", "read", "at", "comes", "came", "gives", "are", "gets"}
)
_VERBS_OF_SEVERAL = frozenset({"are", "were", "'re", "read", "come", "measure"})
_COPULAS_OF_ALL = frozenset({"are", "were", "'re"})
_THROUGH = frozenset({"to", "through", "thru", "-", "till"})
_SMALL = {**ONES, **TEENS}


@dataclass(frozen=True, slots=True)
class PositionSpan:
    """Positions named by tokens ``start`` to before ``end``."""

    start: int
    end: int
    keys: tuple[str, ...]
    """Positions in the order said; (``ALL``,) or (``UNKNOWN``,) alone."""
    cost: float
    style: str
    """named, number, group, all or unknown."""
    count: int | None = None
    """How many positions an "all five" or "both" speaks of."""
    words: str = ""
    without: tuple[str, ...] = ()
    """Positions that an "all" leaves out."""


@dataclass(frozen=True)
class PositionBook:
    """What a sheet's positions are called, prepared once."""

    by_number: dict[int, str] = field(default_factory=dict)
    heads: frozenset[str] = frozenset()
    """Nouns before a number: vane, station, rod."""
    plurals: frozenset[str] = frozenset()
    """The same of several: vanes, stations; a list of positions follows them."""


@lru_cache(maxsize=32)
def _book_of(forms: tuple[tuple[str, tuple[str, ...]], ...]) -> PositionBook:
    by_number: dict[int, str] = {}
    heads: set[str] = set()
    doubtful: set[int] = set()
    for key, spoken in forms:
        own = _number_of(key)
        numbers = {own} if own is not None else set()
        for form in spoken:
            words = form.split()
            value = _number_of(words[-1])
            if value is not None:
                numbers.add(value)
                if len(words) >= 2:
                    heads.add(words[-2])
        for value in numbers:
            if by_number.setdefault(value, key) != key:
                doubtful.add(value)
    return PositionBook(
        {n: k for n, k in by_number.items() if n not in doubtful},
        frozenset(heads),
        frozenset(head + "s" for head in heads),
    )


def position_book(sheet: JobSheet) -> PositionBook:
    """Return the prepared names of a sheet's positions."""
    return _book_of(tuple((key, sheet.spoken_positions(key)) for key in sheet.positions))


def position_spans(sheet: JobSheet, tokens: Sequence[Token], mentions: Mentions) -> list[PositionSpan]:
    """Return every naming of positions in an utterance, overlapping ones included."""
    book = position_book(sheet)
    spans = [
        PositionSpan(m.start, m.end, (key,), m.cost + joined_cost(tokens, m.end - 1), "named", None, m.form)
        for m in mentions.of("position")
        for key in m.keys
    ]
    behind = {span.end for span in spans}
    spans = [span for span in spans if not (span.words == "first" and _only_when(tokens, span, mentions))]
    # "Stage six first" says in which order, not which stage.
    spans = [span for span in spans if not (span.start in behind and span.words in ORDINALS)]
    named = list(spans)
    spans += _all(tokens, mentions)
    spans += _relative(tokens)
    spans += [PositionSpan(i, end, (REST,), 0.2, "all", None, words) for i, end, words in rest_of(tokens)]
    spans += _letters(sheet, tokens)
    spans += _firsts(tokens, named)
    if book.by_number:
        for i in range(len(tokens)):
            spans += _numbers(tokens, i, book)
        spans += _unknown(tokens, book, named)
    spans = with_exceptions(tokens, spans + _named_lists(tokens, named))
    return [span for span in spans if not _of_a_list(tokens, span, spans)]


def _only_when(tokens: Sequence[Token], span: PositionSpan, mentions: Mentions) -> bool:
    """Whether "first" behind an item says that it is measured before others ("backlash first, nine")."""
    others = any(token.norm in ORDINALS and token.norm != "first" for token in tokens)
    return not others and any(m.end == span.start for m in mentions.of("item"))


def _of_a_list(tokens: Sequence[Token], span: PositionSpan, spans: Sequence[PositionSpan]) -> bool:
    """Whether a "both" only sums up the places listed right before it ("four and five are both four")."""
    if span.style != "all" or span.words not in ("both", "all", "each"):
        return False
    return any(
        other.style == "group"
        and other.end <= span.start
        and all(token.norm in _VERBS_OF_SEVERAL for token in tokens[other.end : span.start])
        for other in spans
    )


def _number_of(word: str) -> int | None:
    if word in _SMALL:
        return _SMALL[word]
    return int(word) if word.isdecimal() and len(word) <= 2 else None


def _ordinal_of(word: str) -> int | None:
    if word in ORDINALS:
        return ORDINALS[word]
    return int(word[:-2]) if word[:-2].isdecimal() and word[-2:] in ("st", "nd", "rd", "th") else None


def _norm(tokens: Sequence[Token], i: int) -> str:
    return tokens[i].norm if 0 <= i < len(tokens) else ""


def _numbers(tokens: Sequence[Token], i: int, book: PositionBook) -> list[PositionSpan]:
    found: list[PositionSpan] = []
    value = _number_of(tokens[i].norm)
    before = _norm(tokens, i - 1)
    listing = before in book.plurals
    label = before in ("number", "no", "#", "numbers") and i > 0 and not _is_no_place(tokens, i)
    listing = listing or (label and joined_places(tokens, i))
    headed = before in book.heads or listing or label
    if before in ("other", "all", "these", "those") or counts_all(tokens, i):
        return []
    if not headed and is_amount(tokens, i):
        return []
    if tokens[i].norm == "one" and before in _BEFORE_PRONOUN and not _is_no_place(tokens, i):
        return []
    if value is not None and value in book.by_number:
        cost = 0.9 if listing else _number_cost(tokens, i, headed)
        found.append(PositionSpan(i, i + 1, (book.by_number[value],), cost, "number"))
        found += _series(tokens, i, book, headed)
    ordinal = _ordinal_of(tokens[i].norm)
    if (
        ordinal is not None
        and ordinal in book.by_number
        and (before == "the" or _norm(tokens, i + 1) in ("one", *_COPULAS))
    ):
        end = i + 2 if _norm(tokens, i + 1) == "one" else i + 1
        found.append(PositionSpan(i, end, (book.by_number[ordinal],), 0.5, "number"))
    return found


def _is_no_place(tokens: Sequence[Token], i: int) -> bool:
    """Whether a "no" before "one" puts right what was said of it ("no, one's nineteen")."""
    amount = _norm(tokens, i + 1) in ("'s", "is", "was") and i + 2 < len(tokens)
    return amount and _norm(tokens, i - 1) == "no" and is_number_word(tokens[i + 2])


def _number_cost(tokens: Sequence[Token], i: int, headed: bool) -> float:
    if headed:
        return 0.05
    following = _norm(tokens, i + 1)
    if following in ("'s", "is", "was", "reads"):
        return 0.1
    if _norm(tokens, i - 1) in ("on", "for", "at"):
        return 0.4
    return 0.55 if following in _COPULAS or following in (",", ":") else 0.7


def _series(tokens: Sequence[Token], i: int, book: PositionBook, headed: bool) -> list[PositionSpan]:
    """Find "one through five", "one to five", "two and three", "one two and three"."""
    first = _number_of(tokens[i].norm)
    if first is None:
        return []
    found: list[PositionSpan] = []
    joined = _norm(tokens, i + 1)
    last = _number_of(_norm(tokens, i + 2))
    if joined in _THROUGH and last is not None and last > first and last in book.by_number:
        keys = tuple(book.by_number[n] for n in range(first, last + 1) if n in book.by_number)
        if len(keys) == last - first + 1:
            whole = first == 1 and last == max(book.by_number)
            sure = whole or headed or joined in ("through", "thru") or _norm(tokens, i - 1) == "from"
            found.append(PositionSpan(i, i + 3, keys, 0.1 if sure else 0.8, "group"))
    found += _listed(tokens, i, book, headed)
    return found


def _listed(tokens: Sequence[Token], i: int, book: PositionBook, headed: bool) -> list[PositionSpan]:
    """Find "one, two and three": numbers that ascend one by one, the last joined by "and"."""
    keys: list[str] = []
    at = i
    last = 0
    joined_by_and = False
    while (value := _number_of(_norm(tokens, at))) is not None and value in book.by_number and value > last:
        keys.append(book.by_number[value])
        last = value
        at += 1
        if joined_by_and:
            break
        step = at
        while _norm(tokens, step) in (",", "and", "&"):
            joined_by_and = joined_by_and or _norm(tokens, step) != ","
            step += 1
        if _number_of(_norm(tokens, step)) is None:
            break
        at = step
    if len(keys) < 2 or not (joined_by_and or len(keys) > 2):
        return []
    # "Four and five are both four flat": a verb of several.
    several = _norm(tokens, at) in _VERBS_OF_SEVERAL and joined_by_and
    of_all = several or _norm(tokens, at) in ("all", "both", "each")
    return [PositionSpan(i, at, tuple(keys), _list_cost(keys, headed, of_all), "group")]


def _list_cost(keys: Sequence[str], headed: bool, of_all: bool) -> float:
    """Return what it costs that numbers in a row are positions; three and more are hardly values."""
    if headed:
        return 0.05
    if of_all:
        return 0.1
    return 0.3 if len(keys) > 2 else 1.2


def _all(tokens: Sequence[Token], mentions: Mentions) -> list[PositionSpan]:
    found: list[PositionSpan] = []
    for cue in mentions.cues("all_positions"):
        words = " ".join(t.norm for t in tokens[cue.start : cue.end])
        count = 2 if "both" in words or "either" in words else None
        end = cue.end
        number = _number_of(_norm(tokens, end))
        if words == "all":
            if number is None and _norm(tokens, end) not in (
                "at",
                "the",
                "came",
                "on",
                "of",
                "read",
                "are",
                "good",
            ):
                continue
            if number is not None and _norm(tokens, cue.start - 1) in _COPULAS_OF_ALL:
                # "They're all fifteen": fifteen is what they are, not how many.
                found.append(PositionSpan(cue.start, end, (ALL,), 0.3, "all", None, words))
            if number is not None:
                count = number
                end += 1
        if words == "everything" and not _all_measure(tokens, end):
            continue
        while _norm(tokens, end) in ("of", "them", "vanes", "ends", "sides", "stages", "stations", "the"):
            end += 1
        found.append(PositionSpan(cue.start, end, (ALL,), 0.2, "all", count, words))
    return found


def _all_measure(tokens: Sequence[Token], at: int) -> bool:
    """Whether a value stands right behind "everything" ("everything's fifteen", "everything at fifteen")."""
    at += _norm(tokens, at) in ("'s", "is", "was", "at", "reads", "read", "comes", "measures")
    at += _norm(tokens, at) in ("at", "out", "in", "about", "the", "same")
    return at < len(tokens) and is_number_word(tokens[at])


def _letters(sheet: JobSheet, tokens: Sequence[Token]) -> list[PositionSpan]:
    """Find "a b and c" where positions are called by letters."""
    keys = {key for key in sheet.positions if len(key) == 1 and key.isalpha()}
    found: list[PositionSpan] = []
    i = 0
    while keys and i < len(tokens):
        run: list[str] = []
        at = i
        while _norm(tokens, at) in keys:
            run.append(_norm(tokens, at))
            at += 1
            step = at
            while _norm(tokens, step) in ("and", ",", "&"):
                step += 1
            if _norm(tokens, step) not in keys:
                break
            at = step
        if len(run) > 1 and len(set(run)) == len(run):
            found.append(PositionSpan(i, at, tuple(run), 0.1, "group"))
        i = max(at, i + 1)
    return found


def _relative(tokens: Sequence[Token]) -> list[PositionSpan]:
    """Find "the other end", "t'other", "the middle one"."""
    norms = [token.norm for token in tokens]
    found: list[PositionSpan] = []
    for phrases, key in ((_OTHERS, OTHER), (_MIDDLES, MIDDLE), (_NEXTS, NEXT)):
        starts = _FIRST_WORDS[key]
        for i, norm in enumerate(norms):
            if norm not in starts:
                continue
            words = next((w for w in phrases if tuple(norms[i : i + len(w)]) == w), None)
            if words is not None and words[-1] == "other" and _names_tool(tokens, i + len(words)):
                continue
            if words is not None and not (found and i < found[-1].end):
                found.append(PositionSpan(i, i + len(words), (key,), 0.1, "named", None, " ".join(words)))
    return found


def _names_tool(tokens: Sequence[Token], at: int) -> bool:
    """Whether a gauge follows "the other" ("with the other mike")."""
    return any(_norm(tokens, i) in _TOOLS for i in (at, at + 1))


def _firsts(tokens: Sequence[Token], named: Sequence[PositionSpan]) -> list[PositionSpan]:
    """Find "drive end first": both values before it are in that order."""
    return [
        PositionSpan(
            span.start, span.end + 1, (*span.keys, OTHER), 0.05, "group", None, f"{span.words} first"
        )
        for span in named
        if _norm(tokens, span.end) == "first" and span.cost < 0.5
    ]


def _unknown(
    tokens: Sequence[Token], book: PositionBook, named: Sequence[PositionSpan]
) -> list[PositionSpan]:
    """Find "vane nine" on a sheet of five vanes."""
    found: list[PositionSpan] = []
    for i in range(len(tokens) - 1):
        if tokens[i].norm not in book.heads:
            continue
        value = _number_of(_norm(tokens, i + 1))
        if value is None or value in book.by_number or value > 20:
            continue
        if any(span.start <= i < span.end for span in named):
            continue
        found.append(PositionSpan(i, i + 2, (UNKNOWN,), 0.3, "unknown", None, f"{tokens[i].norm} {value}"))
    return found


def _named_lists(tokens: Sequence[Token], named: Sequence[PositionSpan]) -> list[PositionSpan]:
    """Find "drive end and non drive end", "inboard then outboard"."""
    found: list[PositionSpan] = []
    for first in named:
        for second in named:
            gap = second.start - first.end
            if not 1 <= gap <= 2 or first.keys == second.keys:
                continue
            between = [t.norm for t in tokens[first.end : second.start]]
            if all(word in ("and", "then", ",", "&", "the", "on") for word in between):
                found.append(PositionSpan(first.start, second.end, (*first.keys, *second.keys), 0.1, "group"))
    return found
