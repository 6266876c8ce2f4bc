"""The report as a signed PDF: PAdES by the shop's key over the whole file, with the signed record in it.

Signed by appending, as PDF wants it, so that PDF/A-3b stays what the typesetter made; the signature has no
appearance of its own, because what people are to read of it is set in the document.
"""

from __future__ import annotations

import io
from collections.abc import Mapping
from datetime import UTC, datetime

from asn1crypto import keys as asn1_keys
from asn1crypto import x509 as asn1_x509
from cryptography.hazmat.primitives.serialization import Encoding, NoEncryption, PrivateFormat
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter
from pyhanko.pdf_utils.misc import PdfError
from pyhanko.pdf_utils.writer import BasePdfFileWriter
from pyhanko.sign import fields, signers
from pyhanko.sign.signers.pdf_signer import PdfSigningSession
from pyhanko_certvalidator.registry import SimpleCertificateStore

from api.report.document import report_pdf
from api.report.view import ReportView
from api.signing.keys import ShopKey
from api.signing.signed_record import SignedRecord
from shared.errors import SigningError

FIELD = "Signature"
#: The digest that goes with Ed25519 in a CMS signature (RFC 8419, section 3.1).
DIGEST = "sha512"


def signed_report_pdf(
    view: ReportView, pictures: Mapping[str, bytes], signed: SignedRecord, key: ShopKey
) -> bytes:
    """Return the signed document of a signed record, to be kept with it.

    Starts an event loop of its own: call it from a thread that has none (a plain ``def`` route).

    Args:
        view: prepared from the signed record.
        pictures: encoded picture files by the name that the view shows them under.
        signed: the record, signed with the same key.
        key: the shop's.

    Raises:
        ReportError: the typesetter refused.
        SigningError: the document could not be signed.
    """
    (signature,) = signed.record.signatures
    document = report_pdf(view, pictures, signed.record.to_json().encode(), signed.data)
    moment = datetime.fromisoformat(signature.at)
    reason = f"{signature.meaning} (revision {signature.revision}, chain {signature.chain_sha256})"
    return sign_pdf(document, key, name=signature.name, reason=reason, moment=moment)


def sign_pdf(document: bytes, key: ShopKey, *, name: str, reason: str, moment: datetime) -> bytes:
    """Return a PDF with a signature over all of it appended.

    Raises:
        SigningError: it is no PDF that can be signed.
    """
    meta = signers.PdfSignatureMetadata(
        field_name=FIELD,
        md_algorithm=DIGEST,
        subfilter=fields.SigSeedSubFilter.PADES,
        name=name,
        reason=reason,
    )
    invisible = fields.SigFieldSpec(FIELD, box=None)
    try:
        signer = _Signer(meta, signer=_pyhanko_signer(key), new_field_spec=invisible)
        signer.moment = moment.astimezone(UTC)
        return bytes(signer.sign_pdf(_Writer(io.BytesIO(document))).getvalue())
    except (PdfError, ValueError) as exc:
        raise SigningError(f"the PDF could not be signed: {exc}") from exc


class _Writer(IncrementalPdfFileWriter):
    """Appends to a PDF and leaves what is said of it: the metadata stay the typesetter's."""

    # PDF/A-3 is PDF 1.7 (ISO 19005-3); the library would raise it to 2.0.
    output_version = (1, 7)

    def _update_meta(self) -> None:
        """Write no new date: the signature bears its own."""

    def ensure_output_version(self, version: object) -> None:
        """Stay what it is."""


class _Signer(signers.PdfSigner):
    """Signs at a moment that it is given."""

    moment: datetime

    def init_signing_session(
        self, pdf_out: BasePdfFileWriter, existing_fields_only: bool = False
    ) -> PdfSigningSession:
        """Return a session of that moment."""
        session = super().init_signing_session(pdf_out, existing_fields_only)
        session.system_time = self.moment
        return session


def _pyhanko_signer(key: ShopKey) -> signers.SimpleSigner:
    private = key.private.private_bytes(Encoding.DER, PrivateFormat.PKCS8, NoEncryption())
    return signers.SimpleSigner(
        signing_cert=asn1_x509.Certificate.load(key.certificate.public_bytes(Encoding.DER)),
        signing_key=asn1_keys.PrivateKeyInfo.load(private),
        cert_registry=SimpleCertificateStore(),  # type: ignore[no-untyped-call]
    )
