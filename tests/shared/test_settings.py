"""Settings from the environment."""

from __future__ import annotations

import pytest

from shared.errors import SettingError
from shared.settings import Settings, load_settings


def test_every_setting_has_a_default_and_a_meaning() -> None:
    # Where a default is written in the source, the meaning stands below it as the field's docstring.
    assert load_settings() == Settings()


@pytest.mark.parametrize(
    ("name", "value"), [("THREADS", "4"), ("READING_CONFIDENCE_LEAST", "0.7"), ("ENGINE", "whisper")]
)
def test_the_environment_sets(name: str, value: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv(f"WITNESSMARK_{name}", value)
    assert str(getattr(load_settings(), name.lower())) == value


@pytest.mark.parametrize(
    ("name", "value"), [("THREADS", "none"), ("THREADS", "0"), ("READING_CONFIDENCE_LEAST", "1.5")]
)
def test_a_wrong_value_is_named_with_what_was_expected(
    name: str, value: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv(f"WITNESSMARK_{name}", value)
    with pytest.raises(SettingError, match=f"WITNESSMARK_{name} has value '{value}'; expected") as refused:
        load_settings()
    assert refused.value.code == "setting-invalid"
