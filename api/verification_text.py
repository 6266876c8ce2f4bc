"""What checking signed files found, for people and programs."""

from __future__ import annotations

from dataclasses import asdict
from typing import Any

from api.signing.findings import State, Verification

_SIGNS: dict[State, str] = {"holds": "✓", "broken": "✗", "unknown": "?", "note": "–"}
_KINDS = {"record": "signed record", "document": "signed PDF"}


def verification_lines(found: Verification) -> list[str]:
    """Return the lines for one file: who signed what it is, then every finding."""
    lines = [f"{found.file}: {_KINDS[found.kind]}, {_verdict(found)}"]
    signed = found.signed
    if signed:
        who = f"{signed['name']} ({signed['account']}, {signed['role']})"
        lines.append(f"  says: revision {signed['revision']}, signed by {who} at {signed['at']}")
        lines.append(f"  meaning: {signed['meaning']}")
    lines += [f"  {_SIGNS[each.state]} {each.subject}: {each.text}" for each in found.findings]
    return lines


def verification_json(found: Verification) -> dict[str, Any]:
    """Return the same for a program."""
    return {
        "file": found.file,
        "kind": found.kind,
        "holds": found.holds,
        "signature": found.signed or None,
        "record_file_sha256": found.record_file_sha256,
        "findings": [asdict(each) for each in found.findings],
    }


def _verdict(found: Verification) -> str:
    if found.holds:
        return "all of it holds"
    if any(each.state == "broken" for each in found.findings):
        return "DOES NOT HOLD"
    return "unchanged; the key is not known here"
