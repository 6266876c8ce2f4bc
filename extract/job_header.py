"""What is said of the job itself: work order, pump tag, serial number, technician."""

from __future__ import annotations

from dataclasses import dataclass

from extract.heard import Heard
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
)
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
_NO_NAMES = word_set("job_header.no_names")


@dataclass(frozen=True)
class Header:
    """What an utterance says of the job; None where it says nothing."""

    work_order: str | None = None
    pump_tag: str | None = None
    pump_serial: str | None = None
    technician: str | None = None

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
    return Header(
        _first(heard, _WORK_ORDER),
        _first(heard, _TAG),
        None if serial_taken or _of_a_part(heard) else _first(heard, _SERIAL),
        _name(heard),
    )


def _first(heard: Heard, nouns: tuple[tuple[str, ...], ...]) -> str | None:
    for words in nouns:
        code = code_after(heard.tokens, words)
        if code is None or sum(c.isdigit() for c in code) < (_LEAST_FIGURES if words in _WEAK else 1):
            continue
        return code
    return None


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
    for words in _TECHNICIAN:
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
