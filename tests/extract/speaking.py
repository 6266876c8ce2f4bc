"""Say values as people at a bench do: the other way round from the reader, written apart from it.

Each style returns None for a value that nobody would say so.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction

ONES = [
    "zero",
    "one",
    "two",
    "three",
    "four",
    "five",
    "six",
    "seven",
    "eight",
    "nine",
    "ten",
    "eleven",
    "twelve",
    "thirteen",
    "fourteen",
    "fifteen",
    "sixteen",
    "seventeen",
    "eighteen",
    "nineteen",
]
TENS = ["zero", "ten", "twenty", "thirty", "forty", "fifty", "sixty", "seventy", "eighty", "ninety"]
PARTS = {
    2: ("half", "halves"),
    4: ("quarter", "quarters"),
    8: ("eighth", "eighths"),
    16: ("sixteenth", "sixteenths"),
    32: ("thirty second", "thirty seconds"),
    64: ("sixty fourth", "sixty fourths"),
}


def below_100(n: int) -> str:
    if n < 20:
        return ONES[n]
    return TENS[n // 10] + (f" {ONES[n % 10]}" if n % 10 else "")


def cardinal(n: int, joiner: str = " ") -> str:
    """Whole numbers to 999,999; ``joiner`` " and " for the British way."""
    if n < 100:
        return below_100(n)
    if n < 1000:
        return f"{ONES[n // 100]} hundred" + (joiner + below_100(n % 100) if n % 100 else "")
    rest = n % 1000
    link = joiner if rest < 100 else " "
    return f"{cardinal(n // 1000, joiner)} thousand" + (link + cardinal(rest, joiner) if rest else "")


def digits(text: str, zero: str = "zero") -> str:
    return " ".join(zero if c == "0" else ONES[int(c)] for c in text)


def american(value: Fraction) -> str | None:
    return cardinal(int(value)) if value.denominator == 1 and 0 <= value < 10**6 else None


def british(value: Fraction) -> str | None:
    return cardinal(int(value), " and ") if value.denominator == 1 and 0 <= value < 10**6 else None


def hundreds_run_on(value: Fraction) -> str | None:
    """155 as "one fifty five", 105 as "one oh five"."""
    if value.denominator != 1 or not 100 < value < 1000 or value % 100 == 0:
        return None
    head, rest = divmod(int(value), 100)
    return f"{ONES[head]} " + (f"oh {ONES[rest]}" if rest < 10 else below_100(rest))


def pairs_run_on(value: Fraction) -> str | None:
    """1750 as "seventeen fifty", 1705 as "seventeen oh five"."""
    if value.denominator != 1 or not 1100 <= value < 10_000 or value % 100 == 0 or value % 1000 < 100:
        return None
    head, rest = divmod(int(value), 100)
    return f"{below_100(head)} " + (f"oh {ONES[rest]}" if rest < 10 else below_100(rest))


def decimal_text(value: Fraction) -> str | None:
    for places in range(1, 6):
        scaled = value * 10**places
        if scaled.denominator == 1:
            whole, part = divmod(int(scaled), 10**places)
            return f"{whole}.{part:0{places}d}"
    return None


def decimal_by_digits(value: Fraction, zero: str = "zero", lead: str = "zero") -> str | None:
    text = decimal_text(value)
    if text is None or value.denominator == 1:
        return None
    whole, part = text.split(".")
    head = lead if whole == "0" else cardinal(int(whole))
    return f"{head} point {digits(part, zero)}".strip()


def decimal_without_zero(value: Fraction) -> str | None:
    return decimal_by_digits(value, "oh", "") if value < 1 else None


def decimal_nought(value: Fraction) -> str | None:
    return decimal_by_digits(value, "nought", "nought")


def decimal_run_on(value: Fraction) -> str | None:
    """209.55 as "two oh nine point five five"."""
    text = decimal_text(value)
    whole = hundreds_run_on(Fraction(int(value)))
    if text is None or value.denominator == 1 or whole is None:
        return None
    return f"{whole} point {digits(text.split('.')[1], 'oh')}"


def mixed(value: Fraction) -> str | None:
    whole, part = divmod(value, 1)
    if part == 0 or part.denominator not in PARTS:
        return None
    one, many = PARTS[part.denominator]
    if part.numerator == 1:
        said = f"{'an' if part.denominator == 8 else 'a'} {one}"
    else:
        said = f"{below_100(part.numerator)} {many}"
    return said if whole == 0 else f"{cardinal(int(whole), ' and ')} and {said}"


def thousandths(value: Fraction) -> str | None:
    scaled = value * 1000
    return f"{cardinal(int(scaled))} thousandths" if scaled.denominator == 1 and 1 < scaled < 1000 else None


def print_plain(value: Fraction) -> str | None:
    if value.denominator == 1:
        return str(int(value))
    return decimal_text(value)


def print_grouped(value: Fraction) -> str | None:
    return f"{int(value):,}" if value.denominator == 1 and value >= 1000 else None


def print_bare_point(value: Fraction) -> str | None:
    text = decimal_text(value)
    return text[1:] if text is not None and 0 < value < 1 else None


def print_mixed(value: Fraction, joiner: str = " ") -> str | None:
    whole, part = divmod(value, 1)
    if part == 0 or part.denominator not in PARTS:
        return None
    said = f"{part.numerator}/{part.denominator}"
    return said if whole == 0 else f"{int(whole)}{joiner}{said}"


def print_hyphened(value: Fraction) -> str | None:
    return print_mixed(value, "-")


def print_vulgar(value: Fraction) -> str | None:
    whole, part = divmod(value, 1)
    signs = {
        Fraction(1, 2): "½",
        Fraction(1, 4): "¼",
        Fraction(3, 4): "¾",
        Fraction(1, 8): "⅛",
        Fraction(3, 8): "⅜",
        Fraction(5, 8): "⅝",
        Fraction(7, 8): "⅞",
    }
    return None if part not in signs else f"{int(whole) if whole else ''}{signs[part]}"


def print_thousandths(value: Fraction) -> str | None:
    """Thirty thousandths, misprinted by large models as 30,000ths."""
    scaled = value * 1000
    return f"{int(scaled)},000ths" if scaled.denominator == 1 and 2 <= scaled < 1000 else None


#: Every style by its name.
STYLES: dict[str, Callable[[Fraction], str | None]] = {
    function.__name__: function
    for function in (
        american,
        british,
        hundreds_run_on,
        pairs_run_on,
        decimal_by_digits,
        decimal_without_zero,
        decimal_nought,
        decimal_run_on,
        mixed,
        thousandths,
        print_plain,
        print_grouped,
        print_bare_point,
        print_mixed,
        print_hyphened,
        print_vulgar,
        print_thousandths,
    )
}
