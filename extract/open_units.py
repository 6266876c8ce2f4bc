"""Pounds, degrees and mils: what the rest of the utterance makes of a unit that is open by itself."""

from __future__ import annotations

from collections.abc import Sequence

from extract.bench_talk import Talk
from extract.number_cues import cue_words
from extract.spoken_quantity import Meaning, SpokenQuantity
from extract.tokens import Token

_SURE = -2.0
_ANGLE_WINDOW = 4
_ANGLE_WORDS = cue_words("angle")


def settle_open_units(
    tokens: Sequence[Token], quantities: list[SpokenQuantity], talk: Talk
) -> list[SpokenQuantity]:
    """Reorder the meanings of open units by context; leave out degrees of angle."""
    settled: list[SpokenQuantity] = []
    for quantity in quantities:
        best = quantity.best
        if best is None or best.said_unit not in ("pounds", "degrees", "mil"):
            settled.append(quantity)
        elif best.said_unit == "degrees":
            if not _is_angle(tokens, quantity):
                settled.append(quantity)
        elif best.said_unit == "pounds":
            settled.append(_pounds(tokens, quantity, talk))
        else:
            settled.append(_mil(quantity, talk))
    return settled


def _is_angle(tokens: Sequence[Token], quantity: SpokenQuantity) -> bool:
    start, end = quantity.tokens
    if start and tokens[start - 1].norm == "by":
        return True
    near = tokens[max(0, start - _ANGLE_WINDOW) : start] + tokens[end : end + _ANGLE_WINDOW]  # type: ignore[operator]
    return any(token.norm in _ANGLE_WORDS for token in near)


def _pounds(tokens: Sequence[Token], quantity: SpokenQuantity, talk: Talk) -> SpokenQuantity:
    if talk.weight:
        return quantity
    if talk.pressure and not talk.torque:
        return _lean(quantity, "psi")
    if talk.torque and not talk.pressure:
        return _lean(quantity, "ft_lb")
    start, end = quantity.tokens
    put_on = {token.norm for token in tokens[end : end + 2]} == {"on", "it"}
    before = {token.norm for token in tokens[max(0, start - 2) : start]}
    return _lean(quantity, "psi") if put_on and "put" in before else quantity


def _mil(quantity: SpokenQuantity, talk: Talk) -> SpokenQuantity:
    if talk.metric and not talk.inch:
        return _lean(quantity, "mm")
    if talk.inch and not talk.metric:
        # Millimetres beside thou are as usual as mils in an inch shop: nobody can tell.
        return _level(quantity)
    best = quantity.best
    if best is not None and best.places:
        return _lean(quantity, "mm")
    return quantity


def _lean(quantity: SpokenQuantity, unit: str) -> SpokenQuantity:
    leant = [m._replace(cost=m.cost + _SURE) if m.unit == unit else m for m in quantity.meanings]
    return quantity._replace(meanings=tuple(sorted(leant, key=lambda m: m.cost)))


def _level(quantity: SpokenQuantity) -> SpokenQuantity:
    costs: list[Meaning] = [m._replace(cost=0.8) if m.said_unit == "mil" else m for m in quantity.meanings]
    return quantity._replace(meanings=tuple(sorted(costs, key=lambda m: m.cost)))
