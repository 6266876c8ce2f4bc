"""What positions are called: as the sheet says, and the trade's usual variants of it."""

from __future__ import annotations

from extract.number_words import ONES, ORDINALS, TEENS
from extract.spoken_forms import cut_form
from shared.job_sheet import JobSheet

_NO_HEADS = frozenset({"of", "on", "at", "for", "in", "a", "i", "o", "number", "the", "under"})
_LARGEST_NAMED = 16
_SMALL = {"zero": 0, **{word: n for word, n in {**ONES, **TEENS}.items() if word != "niner"}}
_NUMBER_WORD = {str(n): word for word, n in _SMALL.items() if n <= _LARGEST_NAMED}
_ORDINAL_OF = {word: ordinal for ordinal, n in ORDINALS.items() for word, m in _SMALL.items() if n == m}
_ORDINAL_HEADS = {ordinal: number for number, ordinal in _ORDINAL_OF.items()}


def position_forms(sheet: JobSheet, position: str) -> tuple[str, ...]:
    """Return what a position is called beyond its bare number, with the trade's usual variants."""
    forms = [
        form for form in sheet.spoken_positions(position) if len(cut_form(form)) > 1 or not _is_number(form)
    ]
    forms += _without_first(sheet, position, forms)
    for form in list(forms):
        words = form.split()
        if len(words) <= 3 and words[-1] in ("end", "side") and words[-2:-1] == ["drive"]:
            letters = "n d e" if "non" in words or "opposite" in words else "d e"
            forms += [letters, " ".join([*words[:-1], "side" if words[-1] == "end" else "end"])]
            if "non" in words or "opposite" in words:
                forms += ["non drive", "opposite drive end", "opposite end", "non drive end"]
        if words[0] in ("at", "in", "on", "under") and len(words) > 1 and words[1] != "the":
            forms.append(" ".join(words[1:]))
        if len(words) == 2 and words[0] in _ORDINAL_HEADS:
            forms.append(f"number {_ORDINAL_HEADS[words[0]]} {words[1]}")
        if len(words) == 2 and _is_number(words[1]):
            forms.append(f"{words[0]} number {words[1]}")
            forms.append(f"number {words[1]} {words[0]}")
            ordinal = _ORDINAL_OF.get(words[1])
            if ordinal:
                forms.append(f"{ordinal} {words[0]}")
    own = position.replace("_", " ")
    if own.isalpha() or " " in own:
        named = {word for part in sheet.parts for form in (*part.spoken, part.part) for word in form.split()}
        forms += [own] if len(own) > 2 and not _is_number(own) and own not in named else []
    if position.isdigit():
        word = _NUMBER_WORD.get(position)
        if word:
            forms += [f"number {word}", f"no {position}"]
    return tuple(form for form in dict.fromkeys(forms) if form)


def _without_first(sheet: JobSheet, position: str, forms: list[str]) -> list[str]:
    """Return "row three" for "hammer row three", where no other position ends like that."""
    others = [form for key in sheet.positions if key != position for form in sheet.spoken_positions(key)]
    taken = {tuple(form.split()[-2:]) for form in others}
    short = [form.split()[-2:] for form in forms if len(form.split()) > 2 and _is_number(form.split()[-1])]
    return [" ".join(w) for w in short if tuple(w) not in taken and w[0] not in _NO_HEADS]


def position_heads(sheet: JobSheet, position: str) -> tuple[str, ...]:
    """Return the first words of "drive end", "u phase": beside a number they do for the whole.

    They do where other positions end in the same word, so that the first word alone tells them apart.
    """
    others = {
        form.split()[-1]
        for other in sheet.positions
        if other != position
        for form in sheet.spoken_positions(other)
        if len(form.split()) > 1
    }
    heads = []
    if len(position) == 1 and position.isalpha():
        # "In the b", "b side": a letter alone would be too little.
        heads += [
            f"the {position}",
            f"in {position}",
            f"on {position}",
            f"at {position}",
            f"number {position}",
        ]
    for form in sheet.spoken_positions(position):
        words = form.split()
        if len(words) != 2 or _is_number(words[0]) or _is_number(words[1]) or words[0] in _NO_HEADS:
            continue
        if words[1] in ("end", "side") or words[1] in others:
            heads.append(words[0])
    return tuple(heads)


def _is_number(form: str) -> bool:
    return form.isdigit() or form in _ORDINAL_OF or form in _NUMBER_WORD.values()
