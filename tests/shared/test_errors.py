"""The error tree: coded, picklable, one line each, and drawn as it is."""

from __future__ import annotations

import pickle
import re
from collections.abc import Iterator

import pytest

import shared.errors
from shared.errors import RebuildError, SheetInvalid


def every_error(root: type[RebuildError] = RebuildError) -> Iterator[type[RebuildError]]:
    yield root
    for below in root.__subclasses__():
        yield from every_error(below)


ERRORS = sorted(every_error(), key=lambda error: error.__name__)


@pytest.mark.parametrize("error", ERRORS)
def test_an_error_says_what_where_expected_and_what_to_do_in_one_line(error: type[RebuildError]) -> None:
    exc = error("it is\n broken", where="a.wav", expected="a whole one", remedy="mend it")
    assert str(exc) == "a.wav: it is broken; expected a whole one; mend it"
    assert str(error("alone")) == "alone"


@pytest.mark.parametrize("error", ERRORS)
def test_an_error_crosses_a_process_border_whole(error: type[RebuildError]) -> None:
    exc = error("broken", where="a.wav", expected="whole", remedy="mend")
    back = pickle.loads(pickle.dumps(exc))
    assert type(back) is error
    assert (str(back), back.__dict__) == (str(exc), exc.__dict__)


def test_the_list_of_problems_crosses_too() -> None:
    back = pickle.loads(pickle.dumps(SheetInvalid("two", problems=("a", "b"))))
    assert back.problems == ("a", "b")


def test_codes_are_unique_and_made_of_words() -> None:
    codes = [error.code for error in ERRORS]
    assert len(set(codes)) == len(codes)
    assert all(re.fullmatch(r"[a-z]+(-[a-z]+)+", code) for code in codes)


def test_the_drawing_of_the_tree_is_the_tree() -> None:
    drawn: list[tuple[int, str, str]] = []
    for line in (shared.errors.__doc__ or "").splitlines():
        match = re.match(r"^([│├└─ ]*)([A-Z]\w+)\s.*?([a-z-]*)$", line)
        if match and match[2] in {error.__name__ for error in ERRORS}:
            drawn.append((len(match[1]) // 4, match[2], match[3] if "-" in match[3] else ""))
    depth = {e.__name__: sum(issubclass(c, RebuildError) for c in e.__mro__) - 1 for e in ERRORS}
    assert {name for _, name, _ in drawn} | {"RebuildError"} == set(depth)
    by_name = {error.__name__: error for error in ERRORS}
    for level, name, code in drawn:
        assert level == depth[name], name
        # Classes that only group others are never raised and show no code.
        assert code == by_name[name].code or (not code and by_name[name].__subclasses__()), name
