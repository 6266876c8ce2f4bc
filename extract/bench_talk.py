"""What an utterance is about, as far as it bears on reading its numbers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final, NamedTuple

from extract.tokens import Token

_METRIC: Final = frozenset(
    "mm millimetre millimetres millimeter millimeters micron microns um µm hundredth hundredths metric newton "
    "newtons bar celsius centigrade".split()
)
_INCH: Final = frozenset(
    "thou thous mils inch inches thousandths thousandth tenths psi fahrenheit sixteenth sixteenths eighth "
    "eighths imperial".split()
)
_SPEED: Final = frozenset(
    "speed rpm revs tach tacho tachometer strobe running runs turning doing spinning motor revolutions slip".split()
)
_SIZING: Final = frozenset(
    "diameter dia shaft sleeve journal bore hub trim impeller wheel mic mike mikes miked mics micrometer caliper "
    "calipers calliper callipers length height setting od id o.d across vanes measures measured gap undersize "
    "oversize ring hub nominal ground turned sizes".split()
)
_PRESSURE: Final = frozenset(
    "air leak leaks leaktest pressure gauge hydro hydrotest test tested bubbles pumped blew bleed psi pressurised "
    "pressurized dropped drop weep held hold holding soapy compressor water".split()
)
_TORQUE: Final = frozenset(
    "torque torqued torquing wrench click clicked clicks nut bolt bolts screw screws nipped snug snugged retorque "
    "tightened tighten stud studs pull pulled".split()
)
_ANGLE: Final = frozenset(
    "apart rotate rotated rotating turn turned angle bend clockwise anticlockwise counterclockwise index indexed "
    "spin sweep swing opposed elbow bevel chamfer countersink".split()
)


class Talk(NamedTuple):
    """Flags of an utterance, and of the sheet where there is one."""

    metric: bool = False
    inch: bool = False
    speed: bool = False
    sizing: bool = False
    pressure: bool = False
    torque: bool = False
    angle: bool = False


def talk_of(tokens: Sequence[Token], length_unit: str | None = None) -> Talk:
    """Return what the words of an utterance are about; ``length_unit`` is the sheet's, if any."""
    words = {token.norm for token in tokens}
    metric = not words.isdisjoint(_METRIC)
    inch = not words.isdisjoint(_INCH)
    if not metric and not inch:
        metric, inch = length_unit in ("mm", "um"), length_unit == "in"
    return Talk(
        metric,
        inch,
        not words.isdisjoint(_SPEED),
        not words.isdisjoint(_SIZING) or _letters(tokens, ("o", "d")) or _letters(tokens, ("i", "d")),
        not words.isdisjoint(_PRESSURE),
        not words.isdisjoint(_TORQUE),
        not words.isdisjoint(_ANGLE),
    )


def _letters(tokens: Sequence[Token], pair: tuple[str, str]) -> bool:
    return any(a.norm == pair[0] and b.norm == pair[1] for a, b in zip(tokens, tokens[1:], strict=False))
