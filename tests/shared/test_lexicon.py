"""The trade lexicon keeps to the closed vocabularies of the contract."""

from __future__ import annotations

from typing import get_args

import pytest

import shared.lexicon as lexicon_module
from shared.errors import SettingError
from shared.lexicon import lexicon_sha256, load_lexicon
from shared.record import Action, Condition, ConsumableName, Event
from shared.units import UNITS


@pytest.mark.parametrize(
    ("group", "names"),
    [
        ("conditions", get_args(Condition)),
        ("actions", get_args(Action)),
        ("consumables", get_args(ConsumableName)),
        ("units", UNITS),
        ("commands", get_args(Event)),
    ],
)
def test_every_word_of_the_contract_is_said_somehow(group: str, names: tuple[str, ...]) -> None:
    phrases = getattr(load_lexicon(), group)
    assert set(phrases) == set(names)
    assert all(phrases.values())


@pytest.mark.parametrize("group", ["conditions", "actions", "consumables", "commands", "parts"])
def test_spoken_forms_are_lower_case_words(group: str) -> None:
    for forms in getattr(load_lexicon(), group).values():
        for form in forms:
            assert form == " ".join(form.lower().split())


@pytest.mark.parametrize("group", ["conditions", "actions", "consumables", "units", "commands"])
def test_no_phrase_means_two_things(group: str) -> None:
    said = [form for forms in getattr(load_lexicon(), group).values() for form in forms]
    assert sorted(said) == sorted(set(said))


@pytest.mark.parametrize(
    ("text", "says"),
    [("good: [fine]\n", "differ from the contract"), ("bent: []\n", "differ|no spoken form")],
)
def test_a_lexicon_that_strays_from_the_contract_is_refused(
    text: str, says: str, tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path_factory.mktemp("lexicon")
    (folder / "conditions.yaml").write_text(text)
    monkeypatch.setattr(lexicon_module, "_HERE", folder)
    with pytest.raises(SettingError, match=says):
        load_lexicon.__wrapped__()


def test_the_hash_follows_the_content(
    tmp_path_factory: pytest.TempPathFactory, monkeypatch: pytest.MonkeyPatch
) -> None:
    folder = tmp_path_factory.mktemp("lexicon")
    (folder / "a.yaml").write_text("x: [y]\n")
    shipped = lexicon_sha256()
    monkeypatch.setattr(lexicon_module, "_HERE", folder)
    first = lexicon_sha256()
    (folder / "a.yaml").write_text("x: [z]\n")
    assert len({shipped, first, lexicon_sha256()}) == 3
