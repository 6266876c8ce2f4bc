"""Records of other versions: brought to the present one, or refused with why."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from api.record_file import read_record
from api.record_versions import record_from
from api.store.drafts import record_of
from api.store.tables import Draft
from api.version import program_version
from shared.errors import RecordForeign
from shared.record import RebuildRecord


def told(record: RebuildRecord, **changed: object) -> str:
    return json.dumps({**json.loads(record.to_json()), **changed})


def test_a_record_of_before_fields_were_added_is_read_as_it_is(record: RebuildRecord) -> None:
    """As the first version of the program wrote them: no step of a deviation, no bench of a picture."""
    old = json.loads(record.to_json())
    for deviation in old["deviations"]:
        del deviation["step"]
    for photo in old["photos"]:
        del photo["sha256"], photo["thumbnail"]
    assert record_from(json.dumps(old)) == record


@pytest.mark.parametrize(
    ("changed", "why"),
    [
        (
            {"schema": "rebuild-record/2"},
            "/2.*expected a record of rebuild-record/1; bring this",
        ),
        (
            {"schema": "rebuild-record/0"},
            "/0'; expected a record of rebuild-record/1$",
        ),
        ({"schema": "qif"}, "a record of 'qif'; expected"),
        ({"schema": None}, "it names no schema"),
        ({"schema": 1}, "a record of 1"),
        ({"readings": 5}, "readings: "),
    ],
)
def test_another_version_is_refused_with_why(
    changed: dict[str, Any], why: str, record: RebuildRecord
) -> None:
    with pytest.raises(RecordForeign, match=why):
        record_from(told(record, **changed))


def test_what_a_newer_program_added_is_not_lost_silently(record: RebuildRecord) -> None:
    newer = {**json.loads(record.to_json())["made_by"], "version": "99.1"}
    with pytest.raises(RecordForeign, match="vibration_spectra is not known here") as caught:
        record_from(told(record, vibration_spectra=[], made_by=newer))
    assert f"a record of version {program_version()}; this one is of 99.1" in str(caught.value)


@pytest.mark.parametrize("text", ["", "[]", "{", '"rebuild-record/1"', "{}", "\x00"])
def test_what_is_no_record_is_refused_in_one_line(text: str, tmp_path: Path) -> None:
    path = tmp_path / "record.json"
    path.write_text(text)
    with pytest.raises(RecordForeign) as caught:
        read_record(path)
    assert str(path) in str(caught.value)


def test_older_versions_go_up_step_by_step(record: RebuildRecord) -> None:
    """Of invented versions before the first: the last step renames a list."""
    steps = {
        "rebuild-record/-1": lambda old: {**old, "schema": "rebuild-record/0"},
        "rebuild-record/0": lambda old: {
            **{key: value for key, value in old.items() if key != "measurements"},
            "schema": "rebuild-record/1",
            "readings": old["measurements"],
        },
    }
    old = json.loads(told(record, schema="rebuild-record/-1"))
    old["measurements"] = old.pop("readings")
    assert record_from(json.dumps(old), steps=steps) == record
    old["measurements"] = [{}]
    with pytest.raises(RecordForeign, match=r"readings\.0"):
        record_from(json.dumps(old), steps=steps)


def test_a_draft_of_another_version_says_which_it_is(record: RebuildRecord) -> None:
    draft = Draft(job_id="0a", number=2, record=told(record, schema="rebuild-record/2"))
    with pytest.raises(RecordForeign, match="draft 2 of job 0a: a record of 'rebuild-record/2'"):
        record_of(draft)


def test_a_signed_record_of_another_version_says_so(record: RebuildRecord, tmp_path: Path) -> None:
    path = tmp_path / "signed.json"
    inner = json.loads(told(record, schema="rebuild-record/2"))
    path.write_text(json.dumps({"schema": "signed-record/1", "record": inner}))
    with pytest.raises(RecordForeign, match="rebuild-record/2"):
        read_record(path)
