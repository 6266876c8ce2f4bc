"""Fetching a model: nothing before it was said from where and how large, and agreed. No network here."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from api import model_fetching
from api.cli import run
from api.failure import DONE, NOT_DONE
from api.model_fetching import ModelOffer, PublicHub, fetch_model
from shared.errors import SettingError, WeightsMissing

OFFER = ModelOffer("small.en", "owner/small", "hub/owner/small", "abc123", 483_000_000, "mit", "/cache")


class ShelfHub:
    """A hub that is a shelf: it remembers what was taken."""

    def __init__(self) -> None:
        self.fetched: list[str] = []

    def offer(self, name: str) -> ModelOffer:
        return OFFER

    def fetch(self, offer: ModelOffer) -> Path:
        self.fetched.append(offer.revision)
        return Path("/cache/owner-small")


def test_nothing_is_fetched_without_agreement() -> None:
    hub = ShelfHub()
    shown: list[ModelOffer] = []
    assert fetch_model(hub, "small.en", lambda offer: bool(shown.append(offer))) is None
    assert (shown, hub.fetched) == ([OFFER], [])


def test_exactly_what_was_offered_is_fetched() -> None:
    hub = ShelfHub()
    assert fetch_model(hub, "small.en", lambda _: True) == Path("/cache/owner-small")
    assert hub.fetched == ["abc123"]


def test_the_command_says_from_where_and_how_large_before_it_fetches(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    hub = ShelfHub()
    monkeypatch.setattr(model_fetching, "PublicHub", lambda: hub)
    assert run(["fetch-model", "small.en", "--yes", "--json"]) == DONE
    shown = capsys.readouterr()
    assert "483 MB from hub/owner/small" in shown.err
    assert "licence mit" in shown.err
    assert json.loads(shown.out)["folder"] == "/cache/owner-small"
    # Standard input is closed, so nobody agrees.
    assert run(["fetch-model", "small.en"]) == NOT_DONE
    assert hub.fetched == ["abc123"]


def test_a_name_that_is_no_model_lists_some() -> None:
    with pytest.raises(SettingError, match=r"no model 'nix'; expected one such as tiny\.en"):
        PublicHub().offer("nix")


def test_without_a_network_it_says_what_else_can_be_done(monkeypatch: pytest.MonkeyPatch) -> None:
    from huggingface_hub import HfApi
    from huggingface_hub.errors import OfflineModeIsEnabled

    def offline(*_args: object, **_more: object) -> None:
        raise OfflineModeIsEnabled("offline mode is enabled\nsecond line")

    monkeypatch.setattr(HfApi, "model_info", offline)
    with pytest.raises(
        WeightsMissing, match="offline mode is enabled; go online, or bring its folder"
    ) as refused:
        PublicHub().offer("small.en")
    assert "second line" not in str(refused.value)
