"""A signed record: what is in it, what it is bound to, and every way of changing it is seen."""

from __future__ import annotations

import json
import re
from base64 import b64decode, b64encode
from collections.abc import Callable
from dataclasses import replace
from datetime import datetime
from hashlib import sha256
from typing import Any

import pytest

from api.signing.canonical import canonical_bytes
from api.signing.chain import Link, as_json, next_link
from api.signing.findings import Verification
from api.signing.keys import ShopKey, new_key
from api.signing.signed_record import SignedRecord, Signer, sign_record
from api.signing.verifying import compare, verify_bytes
from shared.errors import SigningError
from shared.record import RebuildRecord
from tests.api.signing.conftest import NOW, SIGNER, events_of

Json = dict[str, Any]


def broken(found: Verification) -> dict[str, str]:
    return {each.subject: each.text for each in found.findings if each.state == "broken"}


def check(data: bytes, key: ShopKey) -> Verification:
    return verify_bytes(data, "file", key.private.public_key())


def dumped(whole: Json) -> bytes:
    return json.dumps(whole).encode()


def test_all_of_it_holds_as_it_was_written(signed: SignedRecord, key: ShopKey) -> None:
    found = check(signed.data, key)
    assert found.holds
    assert {each.subject for each in found.findings} == {"record", "events", "signature", "key"}


def test_the_record_says_who_signed_what_when_and_why(
    signed: SignedRecord, record: RebuildRecord, events: list[Link], key: ShopKey
) -> None:
    (signature,) = signed.record.signatures
    assert (signature.name, signature.account, signature.role) == ("R. Reviewer", "rr", "reviewer")
    assert signature.meaning == "reviewed and accepted"
    assert signature.at == "2026-11-26T15:04:05.678+00:00"
    assert (signature.revision, signature.replaces_sha256) == (1, None)
    assert (signature.chain_events, signature.chain_sha256) == (4, events[-1].sha256)
    assert signature.key_fingerprint == key.fingerprint
    assert RebuildRecord.model_validate(json.loads(signed.data)["record"]) == signed.record
    assert signed.record.model_copy(update={"signatures": []}) == record


def test_the_signature_is_over_the_canonical_bytes_of_all_the_rest(
    signed: SignedRecord, key: ShopKey
) -> None:
    """Done again by hand, as another program would from the description in README.md."""
    whole = json.loads(signed.data)
    value = whole.pop("signature")["value"]
    key.private.public_key().verify(b64decode(value), canonical_bytes(whole))
    bare = {**whole["record"], "signatures": []}
    digest = sha256(canonical_bytes(bare)).hexdigest()
    assert digest == whole["record"]["signatures"][0]["record_sha256"]


def test_the_same_is_signed_twice_alike(record: RebuildRecord, events: list[Link], key: ShopKey) -> None:
    twice = [sign_record(record, events, SIGNER, key, now=NOW).data for _ in range(2)]
    assert twice[0] == twice[1]


def test_spacing_and_order_of_keys_do_not_matter(signed: SignedRecord, key: ShopKey) -> None:
    assert check(json.dumps(json.loads(signed.data), sort_keys=True).encode(), key).holds


def test_every_flipped_bit_in_a_measurement_is_seen(signed: SignedRecord, key: ShopKey) -> None:
    readings = signed.data[: signed.data.index(b'"conditions"')]
    measured = re.finditer(rb'"(?:value|value_exact|unit|position)": ([^,\n]+)', readings)
    places = [at for found in measured for at in range(found.start(1), found.end(1))]
    assert len(places) > 200
    held = [at for at in places if _holds(_flipped(signed.data, at, 1 << at % 7), key)]
    assert held == []


def _flipped(data: bytes, at: int, bits: int) -> bytes:
    return data[:at] + bytes([data[at] ^ bits]) + data[at + 1 :]


def _holds(data: bytes, key: ShopKey) -> bool:
    try:
        return check(data, key).holds
    except SigningError:
        return False  # Damaged beyond checking, and said so.


def test_a_flipped_bit_anywhere_is_seen_unless_it_only_changes_space(
    signed: SignedRecord, key: ShopKey
) -> None:
    whole = json.loads(signed.data)
    for at in range(3, len(signed.data), 61):
        changed = _flipped(signed.data, at, 1 << at % 8)
        if _holds(changed, key):
            assert json.loads(changed) == whole


def change_a_value(whole: Json) -> None:
    whole["record"]["readings"][0]["value"] = 0.0011


def strike_a_reading(whole: Json) -> None:
    del whole["record"]["readings"][3]


def change_who_signed(whole: Json) -> None:
    whole["record"]["signatures"][0]["name"] = "S. Somebody"


def change_the_meaning(whole: Json) -> None:
    whole["record"]["signatures"][0]["meaning"] = "witnessed only"


def drop_an_event(whole: Json) -> None:
    del whole["events"][1]


def swap_events(whole: Json) -> None:
    whole["events"][1:3] = whole["events"][2:0:-1]


def change_an_event(whole: Json) -> None:
    whole["events"][2]["payload"]["value"] = 0.030


def cut_the_end(whole: Json) -> None:
    del whole["events"][-1]


def add_an_event(whole: Json) -> None:
    last = next_link(Link(**whole["events"][-1]), at="2026-11-27", by=None, kind="disposed", payload={})
    whole["events"].append(as_json(last))


def write_the_chain_anew(whole: Json) -> None:
    whole["events"] = [as_json(link) for link in events_of("opened", "drafted", "drafted", "handed_over")]


def no_event(whole: Json) -> None:
    whole["events"][2] = "entry_corrected"


def more_in_an_event(whole: Json) -> None:
    whole["events"][2]["remark"] = "unsigned"


def number_as_text(whole: Json) -> None:
    """The canonical bytes are the same; a reader could still take text for something else."""
    whole["record"]["readings"][0]["value"] = str(whole["record"]["readings"][0]["value"])


def change_the_signature(whole: Json) -> None:
    value = bytearray(b64decode(whole["signature"]["value"]))
    value[5] ^= 1
    whole["signature"]["value"] = b64encode(value).decode()


def no_signature(whole: Json) -> None:
    whole["signature"] = {}


def unsigned_record(whole: Json) -> None:
    whole["record"]["signatures"] = []


def second_signature(whole: Json) -> None:
    whole["record"]["signatures"] *= 2


@pytest.mark.parametrize(
    ("tamper", "subject", "says"),
    [
        (change_a_value, "record", "it was changed after it was signed"),
        (strike_a_reading, "record", "it was changed after it was signed"),
        (number_as_text, "record", "no longer a record of this contract"),
        (change_who_signed, "signature", "does not fit"),
        (change_the_meaning, "signature", "does not fit"),
        (drop_an_event, "events", "broken at event 2: event 2 is not there, 3 stands in its place"),
        (swap_events, "events", "broken at event 2: event 2 is not there, 3"),
        (change_an_event, "events", "broken at event 3: it was changed"),
        (no_event, "events", "broken at event 3: what stands in its place is no event"),
        (more_in_an_event, "events", "broken at event 3"),
        (cut_the_end, "events", "4 events were signed, 3 are there: the end was cut off"),
        (add_an_event, "events", "4 events were signed, 5 are there: some were added"),
        (write_the_chain_anew, "events", "the chain was written anew"),
        (change_the_signature, "signature", "it does not fit: the signature, the key"),
        (no_signature, "signature", "does not fit"),
        (unsigned_record, "record", "who signed it, when and what for cannot be read"),
        (second_signature, "record", "who signed it, when and what for cannot be read"),
    ],
)
def test_tampering_is_named(
    signed: SignedRecord, key: ShopKey, tamper: Callable[[Json], None], subject: str, says: str
) -> None:
    whole = json.loads(signed.data)
    tamper(whole)
    found = check(dumped(whole), key)
    assert not found.holds
    assert says in broken(found)[subject]


def test_a_record_signed_anew_with_another_key_is_seen_by_whoever_has_the_shops(
    signed: SignedRecord, events: list[Link], key: ShopKey
) -> None:
    changed = signed.record.model_copy(deep=True)
    changed.readings[0].value, changed.readings[0].value_exact = 0.0011, "0.0011"
    other = new_key()
    forged = sign_record(changed, events, SIGNER, other, now=NOW)
    assert broken(check(forged.data, key)) == {
        "key": f"signed with key {other.fingerprint}, which is not the one that was given ({key.fingerprint})"
    }
    alone = verify_bytes(forged.data, "file")
    assert not alone.holds
    assert [each.subject for each in alone.findings if each.state == "unknown"] == ["key"]


def test_another_public_key_beside_the_signature_is_seen(signed: SignedRecord) -> None:
    whole = json.loads(signed.data)
    other = new_key()
    whole["public_key"] = other.public_pem
    found = broken(check(dumped(whole), other))
    assert "the file holds key" in found["key"]
    assert "signature" in found


@pytest.mark.parametrize(
    ("data", "says"),
    [
        (b"", "the file is empty"),
        (b"[]", "not a signed record"),
        (b'{"schema": "rebuild-record/1"}', "nobody signed"),
        (b'{"schema": "signed-record/1", "schema": "signed-record/1"}', "'schema' stands twice"),
        (b'{"schema": NaN}', "NaN is no number"),
        (b"[" * 200_000, "no JSON"),
        (b"\xff\xfe\x00", "no text"),
    ],
)
def test_what_cannot_be_checked_is_said_in_one_line(data: bytes, says: str) -> None:
    with pytest.raises(SigningError, match=says):
        verify_bytes(data, "file")


def test_a_cut_file_cannot_be_checked(signed: SignedRecord) -> None:
    for length in range(1, len(signed.data) - 2, 997):
        with pytest.raises(SigningError):
            verify_bytes(signed.data[:length], "file")


@pytest.mark.parametrize("text", ['"\\ud800"', "9007199254740993", "1e999"])
def test_what_canonical_json_cannot_hold_is_damage(signed: SignedRecord, text: str) -> None:
    changed = signed.data.replace(b'"GW8831"', text.encode(), 1)
    assert changed != signed.data
    with pytest.raises(SigningError, match="damaged"):
        verify_bytes(changed, "file")


def test_nothing_is_signed_on_a_broken_chain(record: RebuildRecord, events: list[Link], key: ShopKey) -> None:
    events[1] = replace(events[1], kind="returned")
    with pytest.raises(SigningError, match="broken at event 2"):
        sign_record(record, events, SIGNER, key, now=NOW)


@pytest.mark.parametrize(
    ("signer", "now", "revision", "before", "says"),
    [
        (replace(SIGNER, meaning=" "), NOW, 1, None, "meaning is empty"),
        (replace(SIGNER, name=""), NOW, 1, None, "name is empty"),
        (SIGNER, datetime(2026, 1, 1), 1, None, "without an offset"),
        (SIGNER, NOW, 2, None, "revision 2 replaces nothing"),
        (SIGNER, NOW, 1, "ab" * 32, "revision 1 replaces abab"),
        (SIGNER, NOW, 0, "ab" * 32, "revision 0"),
    ],
)
def test_what_cannot_be_signed_is_said(
    record: RebuildRecord,
    key: ShopKey,
    signer: Signer,
    now: datetime,
    revision: int,
    before: str | None,
    says: str,
) -> None:
    with pytest.raises(SigningError, match=says):
        sign_record(record, [], signer, key, now=now, revision=revision, replaces_sha256=before)


def revised(first: SignedRecord, key: ShopKey, events: list[Link], before: str | None = None) -> SignedRecord:
    return sign_record(
        first.record, events, SIGNER, key, now=NOW, revision=2,
        replaces_sha256=before or sha256(first.data).hexdigest(),
    )  # fmt: skip


def test_a_later_revision_names_the_one_before(
    signed: SignedRecord, events: list[Link], key: ShopKey
) -> None:
    more = [*events, next_link(events[-1], at="2026-11-27", by=None, kind="revision_begun", payload={})]
    both = [check(signed.data, key), check(revised(signed, key, more).data, key)]
    compare(both)
    assert all(each.holds for each in both)
    assert any("a later one replaces it" in each.text for each in both[0].findings)
    assert any("it follows" in each.text for each in both[1].findings)


def test_a_revision_that_names_another_is_seen(
    signed: SignedRecord, events: list[Link], key: ShopKey
) -> None:
    both = [check(signed.data, key), check(revised(signed, key, events, "cd" * 32).data, key)]
    compare(both)
    assert "is not the revision 1 that this one names" in broken(both[1])["revision"]


def test_a_revision_that_tells_another_past_is_seen(
    signed: SignedRecord, events: list[Link], key: ShopKey
) -> None:
    other = events_of("opened", "drafted", "drafted", "handed_over", "revision_begun")
    both = [check(signed.data, key), check(revised(signed, key, other).data, key)]
    compare(both)
    assert "another past" in broken(both[1])["events"]


def test_two_that_claim_one_revision_are_seen(
    signed: SignedRecord, record: RebuildRecord, events: list[Link], key: ShopKey
) -> None:
    twin = sign_record(record, events, replace(SIGNER, meaning="rejected"), key, now=NOW)
    both = [check(signed.data, key), check(twin.data, key)]
    compare(both)
    assert all("revision 1 too, but differs" in broken(each)["revision"] for each in both)
