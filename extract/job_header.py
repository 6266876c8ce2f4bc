"""What is said of the job itself: work order, pump tag, serial number, technician."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from extract.heard import Heard
from extract.numbers import is_number_word
from extract.quantity_arcs import longest_quantity
from extract.spelled_codes import code_after
from extract.word_sets import word_set

_WORK_ORDER = (
    ("work", "order"),
    ("job", "number"),
    ("wo",),
    ("job", "card"),
    ("order", "number"),
    ("works", "order"),
    ("w", "o"),
    ("job", "is"),
    ("job", "'s"),
    ("job", "order"),
    ("order", "is"),
    ("order", "'s"),
    ("job", "no"),
    ("order", "no"),
    ("job",),
    ("ticket", "number"),
    ("ticket",),
)
#: Words with other uses; a number of fewer figures behind them is none of an order.
_WEAK = (
    ("job",),
    ("job", "is"),
    ("job", "'s"),
    ("order", "is"),
    ("order", "'s"),
)
_LEAST_FIGURES = 3
_LOCKING = frozenset({"my", "our", "lock", "lockout", "danger", "hung", "hang", "put"})
_TAG = (
    ("pump", "tag"),
    ("tag", "number"),
    ("tag",),
    ("equipment", "number"),
    ("unit", "number"),
    ("asset", "number"),
    ("asset", "tag"),
    ("asset",),
    ("equipment", "tag"),
    ("pump", "number"),
    ("pump", "no"),
    ("pump",),
)
#: Pumps are counted and pointed at, too; a tag has letters and figures.
_LETTERED = (("pump", "number"), ("pump", "no"), ("pump",))
#: "It's pump W 203" names the one on the bench; "took the bearing from pump W 203" another.
_ON_THE_BENCH = frozenset({"'s", "is", "this", "on", "with", "of", "number"})
_SERIAL = (("serial", "number"), ("serial",), ("s", "/", "n"))
_TECHNICIAN = (
    ("technician", "is"),
    ("technician", "'s"),
    ("technician",),
    ("mechanic", "is"),
    ("mechanic", "'s"),
    ("fitter", "is"),
    ("fitter", "'s"),
    ("my", "name", "is"),
    ("my", "name", "'s"),
    ("tech", "is"),
    ("tech", "'s"),
)
#: Each field's own nouns; one is enough where a doubt follows it, and the code behind that.
_NOUNS: dict[str, frozenset[str]] = {
    "work_order": frozenset({"order", "ticket"}),
    "pump_tag": frozenset({"tag"}),
    "pump_serial": frozenset({"serial"}),
}
_QUOTING = frozenset({"according", "per", "by", "off", "from"})
_QUOTES = (["says"], ["wants"], ["calls"], ["asks"], ["reads"], ["has"])
_NO_NAMES = word_set("job_header.no_names")


@dataclass(frozen=True)
class Header:
    """What an utterance says of the job; None where it says nothing."""

    work_order: str | None = None
    pump_tag: str | None = None
    pump_serial: str | None = None
    technician: str | None = None
    doubts: tuple[str, ...] = ()
    """What was said but not for sure, each to be asked about: an identifier never looks surer than it is."""

    @property
    def empty(self) -> bool:
        """Whether nothing was said."""
        return self == Header()


def read_header(heard: Heard, serial_taken: bool) -> Header:
    """Return what an utterance says of the job.

    Args:
        serial_taken: a serial number in it belongs to a part fitted in the same breath.
    """
    stated = all(clause.mood != "question" for clause in heard.clauses)
    if not stated:
        return Header()
    codes = {"work_order": _first(heard, _WORK_ORDER), "pump_tag": _first(heard, _TAG)}
    if not serial_taken and not _of_a_part(heard):
        codes["pump_serial"] = _first(heard, _SERIAL)
    doubts = _doubted(heard, codes)
    if doubts:
        return Header(technician=_name(heard), doubts=doubts)
    serial = codes.get("pump_serial")
    return Header(codes["work_order"], codes["pump_tag"], serial, _name(heard))


def heard_otherwise(header: Header, others: Sequence[Header]) -> Header:
    """Return a header without the identifiers that another hearing gives otherwise; these are asked about."""
    doubts = list(header.doubts)
    open_fields: set[str] = set()
    for name in _NOUNS:
        mine: str | None = getattr(header, name)
        codes = [getattr(other, name) or "" for other in others]
        rivals = dict.fromkeys(code for code in codes if len(code) >= _LEAST_FIGURES and code != mine)
        if mine is not None and rivals:
            doubts.append(_question(name, [mine, *rivals]))
            open_fields.add(name)
    return replace(
        header,
        work_order=None if "work_order" in open_fields else header.work_order,
        pump_tag=None if "pump_tag" in open_fields else header.pump_tag,
        pump_serial=None if "pump_serial" in open_fields else header.pump_serial,
        doubts=tuple(doubts),
    )


def _doubted(heard: Heard, codes: dict[str, str | None]) -> tuple[str, ...]:
    """Return what an utterance that is not sure of itself says an identifier may be."""
    hedges = heard.mentions.cues("hedge")
    if not hedges:
        return ()
    norms = [token.norm for token in heard.tokens]
    named = [name for name, code in codes.items() if code is not None]
    if not named:
        # "Serial is hard to read, I think it's …": the code stands behind the doubt.
        named = [name for name in codes if not _NOUNS[name].isdisjoint(norms[: hedges[0].start])]
    found = [codes[name] for name in named]
    found += [code_after(heard.tokens[m.start :], norms[m.start : m.end]) for m in hedges]
    offered = list(dict.fromkeys(code for code in found if code is not None and len(code) >= _LEAST_FIGURES))
    return (_question(named[0], offered),) if named and offered else ()


def _question(name: str, codes: Sequence[str]) -> str:
    return f"{name.replace('_', ' ')} {' or '.join(codes)}"


def _first(heard: Heard, nouns: tuple[tuple[str, ...], ...]) -> str | None:
    said = {token.norm for token in heard.tokens}
    for words in nouns:
        if not said.issuperset(words):
            continue
        code = code_after(heard.tokens, words)
        if code is None or (words in _LETTERED and not _names_pump(heard, words, code)):
            continue
        if sum(c.isdigit() for c in code) < (_LEAST_FIGURES if words in _WEAK else 1):
            continue
        if _is_amount(heard, words, code) or (words == ("tag",) and _is_lockout(heard)):
            continue
        return code
    return None


def _is_lockout(heard: Heard) -> bool:
    """Whether a tag is the one hung on a lock, and the figures tell when ("hung my tag on it at six")."""
    norms = [token.norm for token in heard.tokens]
    at = norms.index("tag")
    return bool(_LOCKING & set(norms[max(0, at - 3) : at])) or "at" in norms[at + 1 : at + 4]


def _is_amount(heard: Heard, words: tuple[str, ...], code: str) -> bool:
    """Whether what a tag or a card tells is an amount ("going by the tag it's ninety point one")."""
    if not code.isdecimal():
        return code.replace(".", "").isdecimal() and "." in code
    norms = [token.norm for token in heard.tokens]
    at = next(i for i in range(len(norms)) if tuple(norms[i : i + len(words)]) == words)
    behind = (i for i in range(at + len(words), len(norms)) if is_number_word(heard.tokens[i]))
    start = next(behind, None)
    said = longest_quantity(heard.tokens, start) if start is not None else None
    if said is None:
        return False
    quoted = bool(_QUOTING & set(norms[max(0, at - 3) : at])) or norms[at + len(words) :][:1] in _QUOTES
    return said.unit is not None or said.number.places > 0 or (quoted and len(code) <= _LEAST_FIGURES)


def _names_pump(heard: Heard, words: tuple[str, ...], code: str) -> bool:
    """Whether a code behind "pump" is the tag of the one on the bench."""
    if not (any(c.isdigit() for c in code) and any(c.isalpha() for c in code)):
        return False
    if len(words) > 1:
        return True
    norms = [token.norm for token in heard.tokens]
    at = norms.index("pump")
    return at < 4 and bool(at) and norms[at - 1] in _ON_THE_BENCH and not code[0].isdigit()


def _of_a_part(heard: Heard) -> bool:
    """Whether a serial number is a part's or a gauge's ("the seal's serial number")."""
    norms = [token.norm for token in heard.tokens]
    if "serial" not in norms:
        return False
    at = norms.index("serial")
    gauges = {
        "mic",
        "mike",
        "gauge",
        "indicator",
        "wrench",
        "caliper",
        "calliper",
        "micrometer",
        "clock",
        "dial",
    }
    if gauges & set(norms[max(0, at - 3) : at]):
        return True
    near = [m for m in heard.mentions.of("part") if m.cost < 1 and 0 <= at - m.end <= 3]
    return bool(near)


def _name(heard: Heard) -> str | None:
    norms = [token.norm for token in heard.tokens]
    said = set(norms)
    for words in _TECHNICIAN:
        if not said.issuperset(words):
            continue
        for i in range(len(norms) - len(words)):
            if tuple(norms[i : i + len(words)]) != words:
                continue
            name: list[str] = []
            for norm in norms[i + len(words) : i + len(words) + 2]:
                if not norm.isalpha() or norm in _NO_NAMES or (name and not _name_goes_on(norm)):
                    break
                name.append(norm)
            if name and name[0] not in _NO_NAMES:
                return " ".join(name)
    return None


def _name_goes_on(norm: str) -> bool:
    return norm not in (
        "and",
        "on",
        "with",
        "here",
        "today",
        "doing",
        "starting",
        "work",
        "tag",
        "serial",
        "helper",
    )
