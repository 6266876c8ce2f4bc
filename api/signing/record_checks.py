"""Checks a signed record: the bytes of its file in, what holds and what does not out."""

from __future__ import annotations

import binascii
import json
from base64 import b64decode, b64encode
from hashlib import sha256
from typing import Any, NoReturn

from cryptography.exceptions import InvalidSignature
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from pydantic import ValidationError

from api.json_damage import json_damage
from api.signing.chain import BEGINNING, Break, Link, first_break
from api.signing.findings import Verification
from api.signing.keys import fingerprint, read_public_key
from api.signing.signed_record import ALGORITHM, SCHEMA, record_sha256, signed_content
from shared.errors import SigningError
from shared.record import RebuildRecord, Signature

_TYPES: dict[str, type | tuple[type, ...]] = {
    "number": int, "at": str, "by": (str, type(None)), "kind": str, "payload": dict, "previous": str,
    "sha256": str,
}  # fmt: skip


def check_record(data: bytes, found: Verification, trusted: Ed25519PublicKey | None) -> dict[str, Any]:
    """Check a signed record and write down what was found; return its JSON.

    Args:
        data: the file.
        found: takes the findings.
        trusted: the public key that the shop handed out; None where the checker has none.

    Raises:
        SigningError: it is no signed record, or damaged so that nothing in it can be checked.
    """
    whole = _read(data, found.file)
    content = _canonical(whole, found.file)
    key = read_public_key(whole["public_key"], where=found.file)
    signature = _signature(whole["record"])
    found.record_file_sha256 = sha256(data).hexdigest()
    fits = _fits(key, whole["signature"], content)
    _check_record(whole["record"], signature, found)
    _check_events(whole["events"], signature, found)
    if fits:
        found.add("signature", "holds", "it fits all that stands in the file")
    elif any(finding.state == "broken" for finding in found.findings):
        found.add("signature", "broken", "it does not fit what stands in the file")
    else:
        text = "it does not fit: the signature, the key, or the record together with its hashes was changed"
        found.add("signature", "broken", text)
    _check_key(key, signature, trusted, found)
    _tell_revision(signature, found)
    return whole


def read_json(data: bytes, where: str) -> Any:
    """Return the value of a JSON text, in which no key may stand twice: readers take one or the other.

    Raises:
        SigningError: it is none.
    """
    try:
        return json.loads(data, object_pairs_hook=_once, parse_constant=_no_number)
    except (ValueError, RecursionError) as exc:
        raise SigningError(
            json_damage(data, exc), where=where, expected="a signed record", remedy="download it again"
        ) from exc


def _read(data: bytes, where: str) -> dict[str, Any]:
    whole = read_json(data, where)
    if isinstance(whole, dict) and whole.get("schema") == "rebuild-record/1":
        raise SigningError(
            "a record that nobody signed", where=where, expected="a signed record or a signed PDF"
        )
    shape = {"schema": str, "record": dict, "events": list, "public_key": str, "signature": dict}
    right = (
        isinstance(whole, dict)
        and set(whole) == set(shape)
        and whole["schema"] == SCHEMA
        and all(isinstance(whole[name], kind) for name, kind in shape.items())
    )
    if not right:
        raise SigningError("not a signed record, or damaged", where=where, expected=f"JSON of {SCHEMA}")
    assert isinstance(whole, dict)
    return whole


def _canonical(whole: dict[str, Any], where: str) -> bytes:
    try:
        return signed_content(whole)
    except (RecursionError, SigningError) as exc:
        raise SigningError(
            f"damaged: {exc}", where=where, expected="a signed record as it was written"
        ) from exc


def _once(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    whole = dict(pairs)
    if len(whole) != len(pairs):
        names = [name for name, _ in pairs]
        twice = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"the key {twice!r} stands twice")
    return whole


def _no_number(name: str) -> NoReturn:
    raise ValueError(f"{name} is no number of JSON")


def _signature(record: dict[str, Any]) -> Signature | None:
    """Return what the record says of its signature; None where it says nothing that can be read."""
    signatures = record.get("signatures")
    if not isinstance(signatures, list) or len(signatures) != 1:
        return None
    try:
        return Signature.model_validate(signatures[0], strict=True)
    except ValidationError:
        return None


def _fits(key: Ed25519PublicKey, signature: dict[str, Any], content: bytes) -> bool:
    if set(signature) != {"algorithm", "value"} or signature["algorithm"] != ALGORITHM:
        return False
    try:
        value = b64decode(signature["value"], validate=True)
        if b64encode(value).decode("ascii") != signature["value"]:
            return False  # Its last character has bits that mean nothing: only one spelling counts.
        key.verify(value, content)
    except (InvalidSignature, binascii.Error, TypeError, ValueError):
        return False
    return True


def _check_record(record: dict[str, Any], signature: Signature | None, found: Verification) -> None:
    if signature is None:
        found.add("record", "broken", "who signed it, when and what for cannot be read")
        return
    found.signed = signature.model_dump()
    try:
        RebuildRecord.model_validate_json(json.dumps(record), strict=True)
    except ValidationError as exc:
        first = exc.errors(include_url=False)[0]
        at = ".".join(str(part) for part in first["loc"])
        found.add("record", "broken", f"it is no longer a record of this contract ({at}: {first['msg']})")
        return
    same = record_sha256(record) == signature.record_sha256
    found.check(
        "record", same, "as it was when it was signed", "it was changed after it was signed, or its hash was"
    )


def _check_events(events: list[Any], signature: Signature | None, found: Verification) -> None:
    links, broken = _links(events)
    found.events = links
    broken = first_break(links) or broken
    if broken is not None:
        found.add("events", "broken", f"the chain is broken at event {broken.number}: {broken.why}")
        return
    if signature is None:
        found.add(
            "events", "unknown", f"{len(links)} events hang together; how many were signed is not known"
        )
        return
    head = links[-1].sha256 if links else BEGINNING
    if len(links) < signature.chain_events:
        text = f"{signature.chain_events} events were signed, {len(links)} are there: the end was cut off"
        found.add("events", "broken", text)
    elif len(links) > signature.chain_events:
        text = f"{signature.chain_events} events were signed, {len(links)} are there: some were added"
        found.add("events", "broken", text)
    else:
        found.check(
            "events",
            head == signature.chain_sha256,
            f"{len(links)} events, unbroken to the one that was signed",
            "they hang together but are not those that were signed: the chain was written anew",
        )


def _links(events: list[Any]) -> tuple[list[Link], Break | None]:
    """Return the events up to the first that is none."""
    links: list[Link] = []
    for number, event in enumerate(events, 1):
        right = (
            isinstance(event, dict)
            and set(event) == set(_TYPES)
            and all(isinstance(event[name], kind) for name, kind in _TYPES.items())
        )
        if not right:
            return links, Break(number, "what stands in its place is no event")
        links.append(Link(**event))
    return links, None


def _check_key(
    key: Ed25519PublicKey, signature: Signature | None, trusted: Ed25519PublicKey | None, found: Verification
) -> None:
    own = fingerprint(key)
    if signature is not None and signature.key_fingerprint != own:
        found.add("key", "broken", f"signed by key {signature.key_fingerprint}, but the file holds key {own}")
    if trusted is None:
        text = (
            f"whose key {own} is cannot be told from the file: "
            "compare it with the one that the shop gave out, or give that with --key"
        )
        found.add("key", "unknown", text)
        return
    known = key == trusted
    bad = f"signed with key {own}, which is not the one that was given ({fingerprint(trusted)})"
    found.check("key", known, f"{own}, the one that was given", bad)


def _tell_revision(signature: Signature | None, found: Verification) -> None:
    if signature is None:
        return
    if (signature.revision == 1) != (signature.replaces_sha256 is None):
        before = signature.replaces_sha256 or "none"
        text = f"revision {signature.revision} names {before} as the one before"
        found.add("revision", "broken", text)
    elif signature.replaces_sha256:
        text = f"revision {signature.revision}; it replaces the one of SHA-256 {signature.replaces_sha256}"
        found.add("revision", "note", text)
