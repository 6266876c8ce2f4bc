"""A chain tells where it was changed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pytest

from api.signing.chain import BEGINNING, Link, as_json, first_break, next_link


def chain() -> list[Link]:
    links: list[Link] = []
    for number in range(4):
        last = links[-1] if links else None
        links.append(
            next_link(
                last, at=f"2026-03-04T12:00:0{number}+00:00", by="Ines", kind="joined", payload={"n": number}
            )
        )
    return links


def test_a_whole_chain_holds() -> None:
    assert chain()[0].previous == BEGINNING
    assert first_break(chain()) is None
    assert first_break([]) is None
    assert Link(**as_json(chain()[2])) == chain()[2]


def another(last: Link) -> Link:
    return next_link(last, at="2026-03-04T12:00:01+00:00", by=None, kind="joined", payload={})


def change(**fields: object) -> Callable[[list[Link]], list[Link]]:
    return lambda links: [links[0], replace(links[1], **fields), *links[2:]]  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("forge", "number", "why"),
    [
        (change(payload={"n": 9}), 2, "changed after it was written"),
        (change(by="Tom"), 2, "changed after it was written"),
        (change(at="2026-03-04T12:00:02+00:00"), 2, "changed after it was written"),
        (change(kind="signed"), 2, "changed after it was written"),
        (change(previous="1" * 64), 2, "does not follow"),
        (lambda links: [links[0], *links[2:]], 2, "event 2 is not there"),
        (lambda links: links[1:], 1, "event 1 is not there"),
        (lambda links: [links[0], links[2], links[1], links[3]], 2, "event 2 is not there"),
        # Written anew with a right hash of its own: the next one still names the old.
        (lambda links: [links[0], another(links[0]), *links[2:]], 3, "does not follow"),
    ],
)  # fmt: skip
def test_a_change_is_found_where_it_was_made(
    forge: Callable[[list[Link]], list[Link]], number: int, why: str
) -> None:
    broken = first_break(forge(chain()))
    assert broken is not None
    assert broken.number == number
    assert why in broken.why
