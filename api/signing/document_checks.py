"""Checks a signed PDF: whether it is as it was signed, and whether what is attached is what was signed."""

from __future__ import annotations

import io
import logging
import zlib
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

from asn1crypto.cms import ContentInfo
from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PublicKey
from cryptography.hazmat.primitives.serialization import Encoding, PublicFormat, load_der_public_key
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.misc import PdfError
from pyhanko.pdf_utils.reader import PdfFileReader
from pyhanko.sign.validation import EmbeddedPdfSignature, validate_pdf_signature
from pyhanko.sign.validation.errors import SignatureValidationError
from pyhanko.sign.validation.pdf_embedded import collect_embedded_signatures
from pyhanko_certvalidator import ValidationContext

from api.report.document import RECORD_NAME, SIGNED_NAME
from api.signing.findings import Verification
from api.signing.keys import fingerprint, read_public_key
from api.signing.record_checks import check_record, read_json
from shared.errors import SigningError

#: Deeper than any tree of a few attachments.
_DEEPEST = 8


def check_document(data: bytes, found: Verification, trusted: Ed25519PublicKey | None) -> None:
    """Check a signed PDF and write down what was found.

    Starts an event loop of its own: call it from a thread that has none.

    Args:
        data: the file.
        found: takes the findings.
        trusted: the public key that the shop handed out; None where the checker has none.

    Raises:
        SigningError: it is no PDF, nothing in it is signed, or it is damaged so that nothing can be checked.
    """
    with _told_as_damage(found.file):
        reader = PdfFileReader(io.BytesIO(data))
        signatures = collect_embedded_signatures(reader)
    try:
        with _told_as_damage(found.file):
            attached = list(_attachments(reader))
    except SigningError as exc:
        if not signatures:
            raise
        _check_signature(data, signatures, found)
        found.add("attachment", "broken", f"what is attached cannot be read: {exc.what}")
        return
    if not signatures and SIGNED_NAME not in dict(attached):
        raise SigningError("a PDF that nobody signed", where=found.file, expected="a signed PDF")
    signer = _check_signature(data, signatures, found)
    _check_attached(attached, signer, found, trusted)


def _check_attached(
    attached: list[tuple[str, bytes]],
    signer: Ed25519PublicKey | None,
    found: Verification,
    trusted: Ed25519PublicKey | None,
) -> None:
    names, files = [name for name, _ in attached], dict(attached)
    if names.count(SIGNED_NAME) != 1 or names.count(RECORD_NAME) != 1:
        there = ", ".join(names) or "nothing"
        text = f"{RECORD_NAME} and {SIGNED_NAME} must be attached once each; attached: {there}"
        found.add("attachment", "broken", text)
        if SIGNED_NAME not in files:
            return
    try:
        whole = check_record(files[SIGNED_NAME], found, trusted)
    except SigningError as exc:
        found.add("attachment", "broken", f"{SIGNED_NAME} cannot be checked: {exc.what}")
        return
    if RECORD_NAME in files:
        _check_attached_record(files[RECORD_NAME], whole["record"], found)
    if signer is not None:
        own = read_public_key(whole["public_key"], where=found.file)
        found.check(
            "key",
            signer == own,
            "document and record are signed with the same key",
            f"the document is signed with key {fingerprint(signer)}, the record with {fingerprint(own)}",
        )


def _check_signature(
    data: bytes, signatures: list[EmbeddedPdfSignature], found: Verification
) -> Ed25519PublicKey | None:
    """Check the PDF's own signature; return the key that made it."""
    if len(signatures) != 1:
        found.add("document", "broken", f"it bears {len(signatures)} signatures; one was made")
        return None
    (signature,) = signatures
    with _told_as_damage(found.file):
        certificate = signature.signer_cert
        key = read_public_key(_pem(certificate.public_key.dump()), where=found.file)
        context = ValidationContext(trust_roots=[certificate], allow_fetching=False)
        whole = _covers_all(data, signature)
        try:
            status = validate_pdf_signature(signature, context, skip_diff=True)
            fits = bool(status.intact and status.valid)
        except SignatureValidationError:
            fits = False
    if not fits:
        found.add("document", "broken", "the PDF was changed after it was signed, or its signature was")
    else:
        found.check(
            "document",
            whole,
            "the PDF is as it was signed, to the last byte",
            "something was added to the PDF after it was signed",
        )
    return key


def _covers_all(data: bytes, signature: EmbeddedPdfSignature) -> bool:
    """Whether the signature is over every byte of the file but itself, and hides nothing in its own place."""
    numbers = [int(number) for number in signature.byte_range]
    if len(numbers) != 4 or numbers[0] != 0:
        return False
    _, before, after, rest = numbers
    content = signature.pkcs7_content
    held = data[before:after]
    real = len(ContentInfo.load(content).dump())
    return (
        after + rest == len(data)
        and after - before == 2 * len(content) + 2
        and held[:1] == b"<"
        and held[-1:] == b">"
        and bytes.fromhex(held[1:-1].decode("ascii")) == content
        and not any(content[real:])
    )


def _check_attached_record(data: bytes, record: Any, found: Verification) -> None:
    try:
        same = read_json(data, RECORD_NAME) == record
    except SigningError:
        same = False
    found.check(
        "attachment",
        same,
        f"{RECORD_NAME} is the record that was signed",
        f"{RECORD_NAME} in the PDF differs from the record that was signed",
    )


def _attachments(reader: PdfFileReader) -> Iterator[tuple[str, bytes]]:
    if "/Names" in reader.root and "/EmbeddedFiles" in reader.root["/Names"]:
        yield from _leaves(reader.root["/Names"]["/EmbeddedFiles"], _DEEPEST)


def _leaves(node: generic.DictionaryObject, deepest: int) -> Iterator[tuple[str, bytes]]:
    """Walk a name tree (ISO 32000-1, 7.9.6)."""
    if deepest < 0:
        raise SigningError("attachments nested without end", expected="a PDF as it was written")
    # The library's own get() takes no default of another kind.
    kids, pairs = ([*node[name]] if name in node else [] for name in ("/Kids", "/Names"))
    for below in kids:
        yield from _leaves(below.get_object(), deepest - 1)
    for name, place in zip(pairs[::2], pairs[1::2], strict=True):
        yield str(name), place.get_object()["/EF"]["/F"].data


def _pem(public: bytes) -> bytes:
    return load_der_public_key(public).public_bytes(Encoding.PEM, PublicFormat.SubjectPublicKeyInfo)


@contextmanager
def _told_as_damage(where: str) -> Iterator[None]:
    """Whatever a damaged file makes its reader stumble over is damage of the file, not a bug of ours."""
    log = logging.getLogger("pyhanko")
    before = log.disabled
    log.disabled = True
    try:
        yield
    except SigningError:
        raise
    except (
        PdfError, SignatureValidationError, zlib.error, ValueError, KeyError, IndexError, TypeError,
        AttributeError, AssertionError, RecursionError, OSError, NotImplementedError, ArithmeticError,
    ) as exc:  # fmt: skip
        raise SigningError(
            f"damaged, or no PDF: {exc or type(exc).__name__}", where=where, expected="a signed PDF"
        ) from exc
    finally:
        log.disabled = before
