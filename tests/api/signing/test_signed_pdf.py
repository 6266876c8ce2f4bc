"""The signed PDF: still PDF/A-3b, bound to the signed record in it, and every change to it is seen."""

from __future__ import annotations

import io
import re
import subprocess
from hashlib import sha512
from pathlib import Path
from random import Random

import pikepdf
import pytest
from asn1crypto.cms import ContentInfo
from pyhanko.pdf_utils import generic
from pyhanko.pdf_utils.incremental_writer import IncrementalPdfFileWriter

from api.report.document import report_pdf
from api.report.page import report_html
from api.report.prepare import prepare_view
from api.signing.chain import Link
from api.signing.findings import Verification
from api.signing.keys import ShopKey, new_key
from api.signing.signed_pdf import sign_pdf, signed_report_pdf
from api.signing.signed_record import SignedRecord, sign_record
from api.signing.verifying import compare, verify_bytes
from shared.errors import SigningError
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord
from tests.api.signing.conftest import NOW, SIGNER
from tests.conftest import need_program


def check(data: bytes, key: ShopKey) -> Verification:
    return verify_bytes(data, "file.pdf", key.private.public_key())


def broken(found: Verification) -> dict[str, str]:
    return {each.subject: each.text for each in found.findings if each.state == "broken"}


def anew(record: RebuildRecord, signed: SignedRecord, sheet: JobSheet, key: ShopKey, data: bytes) -> bytes:
    """A document with this record and this signed record attached, signed."""
    view = prepare_view(signed.record, sheet)
    return sign_pdf(
        report_pdf(view, {}, record.to_json().encode(), data), key, name="x", reason="y", moment=NOW
    )


def test_all_of_it_holds_as_it_was_written(document: bytes, key: ShopKey) -> None:
    found = check(document, key)
    assert found.holds, found.findings
    assert {each.subject for each in found.findings} == {
        "document", "record", "events", "signature", "key", "attachment",
    }  # fmt: skip


def test_record_and_document_may_be_checked_together(
    document: bytes, signed: SignedRecord, key: ShopKey
) -> None:
    both = [check(document, key), check(signed.data, key)]
    compare(both)
    assert all(each.holds for each in both)
    assert both[0].record_file_sha256 == both[1].record_file_sha256


def test_it_stays_pdf_a_as_far_as_can_be_read(document: bytes, signed: SignedRecord) -> None:
    """The clauses of ISO 19005-3 that a signature could break (from memory; no full validator at hand)."""
    with pikepdf.open(io.BytesIO(document)) as pdf:
        assert pdf.pdf_version == "1.7"
        assert "/Version" not in pdf.Root
        with pdf.open_metadata(update_docinfo=False, set_pikepdf_as_editor=False) as meta:
            assert meta.pdfa_status == "3B"
            assert str(pdf.docinfo["/Title"]) == meta["dc:title"]
        assert "/NeedAppearances" not in pdf.Root.AcroForm
        (field,) = pdf.Root.AcroForm.Fields
        assert int(field.F) & 0b111111 == 0b000100  # Print set; Invisible, Hidden, NoView … not (6.3.2).
        assert [int(edge) for edge in field.Rect] == [0, 0, 0, 0]  # So it needs no appearance (6.3.3).
        assert field.P.objgen in [page.objgen for page in pdf.pages]
        assert str(field.V.SubFilter) == "/ETSI.CAdES.detached"
        assert str(field.V.M) == "D:20261126150405Z"
        assert pdf.attachments["signed-record.json"].get_file().read_bytes() == signed.data
        assert pdf.attachments["record.json"].get_file().read_bytes() == signed.record.to_json().encode()
        assert [str(each.AFRelationship) for each in pdf.Root.AF] == ["/Data", "/Data"]
        assert not pdf.check_pdf_syntax()


def test_the_signature_is_what_cms_says(document: bytes, key: ShopKey) -> None:
    """By hand, without the library that made it: RFC 5652, section 5.4, and RFC 8419, section 3.1."""
    found = re.search(rb"/ByteRange \[(\d+) (\d+) (\d+) (\d+)\]", document)
    assert found
    start, before, after, rest = map(int, found.groups())
    signed = ContentInfo.load(bytes.fromhex(document[before + 1 : after - 1].decode()))["content"]
    (info,) = signed["signer_infos"]
    assert info["signature_algorithm"]["algorithm"].native == "ed25519"
    attributes = {each["type"].native: each["values"][0].native for each in info["signed_attrs"]}
    over = document[start : start + before] + document[after : after + rest]
    assert attributes["message_digest"] == sha512(over).digest()
    # The attributes are signed as a SET, not as the tagged field that they are sent in.
    key.private.public_key().verify(info["signature"].native, b"\x31" + info["signed_attrs"].dump()[1:])


def test_what_was_typeset_is_not_touched(signed: SignedRecord, sheet: JobSheet, document: bytes) -> None:
    view = prepare_view(signed.record, sheet)
    assert document.startswith(report_pdf(view, {}, signed.record.to_json().encode(), signed.data).rstrip())


def test_people_read_who_signed_and_what_it_is_checked_against(
    document: bytes, signed: SignedRecord, sheet: JobSheet, tmp_path: Path
) -> None:
    path = tmp_path / "signed.pdf"
    path.write_bytes(document)
    words = subprocess.run([need_program("pdftotext"), "-layout", path, "-"], capture_output=True, check=True)
    (signature,) = signed.record.signatures
    page = report_html(prepare_view(signed.record, sheet), {})
    for shown in (" ".join(words.stdout.decode().split()), page):
        for text in (
            "R. Reviewer", "reviewed and accepted", signature.chain_sha256, signature.record_sha256,
            signature.key_fingerprint, "witnessmark verify",
        ):  # fmt: skip
            assert text in shown
        assert "reviewed by" not in shown
        assert "a reviewer decides, never this program" not in shown


def test_an_unsigned_report_leaves_room_for_the_reviewer(record: RebuildRecord, sheet: JobSheet) -> None:
    page = report_html(prepare_view(record, sheet), {})
    assert "reviewed by" in page
    assert "Signature" not in page


def test_a_flipped_bit_anywhere_is_seen(document: bytes, key: ShopKey) -> None:
    random = Random(6)
    held = []
    for at in [*range(0, len(document), len(document) // 40), *range(len(document) - 700, len(document), 37)]:
        changed = bytearray(document)
        changed[at] ^= 1 << random.randrange(8)
        try:
            if check(bytes(changed), key).holds:
                held.append(at)
        except SigningError:
            continue
    assert held == []


def test_what_hides_beside_the_signature_in_its_own_place_is_seen(document: bytes, key: ShopKey) -> None:
    start = document.index(b"/Contents <") + len(b"/Contents <")
    end = document.index(b">", start)
    assert document[end - 8 : end] == b"00000000"
    changed = document[: end - 8] + b"deadbeef" + document[end:]
    assert "changed after it was signed" in _why(changed, key) or "added" in _why(changed, key)


def _why(data: bytes, key: ShopKey) -> str:
    try:
        return broken(check(data, key)).get("document", "")
    except SigningError as exc:
        return f"changed after it was signed: {exc}"


def _update(document: bytes, change) -> bytes:  # type: ignore[no-untyped-def]
    writer = IncrementalPdfFileWriter(io.BytesIO(document))
    change(writer)
    out = io.BytesIO()
    writer.write(out)
    return out.getvalue()


def test_an_incremental_update_is_seen(document: bytes, key: ShopKey) -> None:
    def title(writer: IncrementalPdfFileWriter) -> None:
        writer.root["/Lang"] = generic.pdf_string("de-DE")
        writer.update_root()

    found = check(_update(document, title), key)
    assert broken(found) == {"document": "something was added to the PDF after it was signed"}


def test_a_line_after_the_end_is_seen(document: bytes, key: ShopKey) -> None:
    assert "document" in broken(check(document + b"% harmless\n", key))


def test_an_attachment_swapped_by_an_update_is_seen(document: bytes, key: ShopKey) -> None:
    def swap(writer: IncrementalPdfFileWriter) -> None:
        spec = writer.root["/Names"]["/EmbeddedFiles"]["/Names"][1]
        stream = spec["/EF"]["/F"]
        text = stream.data.replace(b'"0.016"', b'"0.013"')
        assert text != stream.data
        spec["/EF"]["/F"] = writer.add_object(generic.StreamObject(stream_data=text))
        writer.update_container(spec["/EF"])

    found = broken(check(_update(document, swap), key))
    assert set(found) == {"document", "attachment"}


def test_a_record_attached_that_is_not_the_one_signed_is_seen(
    record: RebuildRecord, signed: SignedRecord, sheet: JobSheet, key: ShopKey
) -> None:
    other = signed.record.model_copy(deep=True)
    other.readings[0].value_exact = "0.0011"
    found = broken(check(anew(other, signed, sheet, key, signed.data), key))
    assert found == {"attachment": "record.json in the PDF differs from the record that was signed"}


def test_a_document_signed_anew_with_another_key_is_seen(
    signed: SignedRecord, sheet: JobSheet, key: ShopKey
) -> None:
    forged = anew(signed.record, signed, sheet, new_key(), signed.data)
    assert set(broken(check(forged, key))) == {"key"}
    assert "the document is signed with key" in broken(check(forged, key))["key"]


def test_document_and_record_signed_anew_with_another_key_are_seen(
    record: RebuildRecord, events: list[Link], sheet: JobSheet, key: ShopKey
) -> None:
    other = new_key()
    forged = sign_record(record, events, SIGNER, other, now=NOW)
    pdf = signed_report_pdf(prepare_view(forged.record, sheet), {}, forged, other)
    assert set(broken(check(pdf, key))) == {"key"}
    assert not verify_bytes(pdf, "file.pdf").holds


def test_a_second_signature_is_seen(document: bytes, key: ShopKey, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("api.signing.signed_pdf.FIELD", "Another")
    for other in (key, new_key()):
        twice = sign_pdf(document, other, name="x", reason="y", moment=NOW)
        assert broken(check(twice, key))["document"] == "it bears 2 signatures; one was made"


def test_a_document_whose_signature_was_taken_off_is_seen(
    signed: SignedRecord, sheet: JobSheet, key: ShopKey
) -> None:
    view = prepare_view(signed.record, sheet)
    bare = report_pdf(view, {}, signed.record.to_json().encode(), signed.data)
    assert broken(check(bare, key)) == {"document": "it bears 0 signatures; one was made"}


def test_a_report_that_nobody_signed_cannot_be_checked(
    record: RebuildRecord, sheet: JobSheet, key: ShopKey
) -> None:
    with pytest.raises(SigningError, match="a PDF that nobody signed"):
        check(report_pdf(prepare_view(record, sheet), {}, record.to_json().encode()), key)


def test_a_cut_document_is_never_said_to_hold(document: bytes, key: ShopKey) -> None:
    for length in range(5, len(document) - 1, len(document) // 12):
        with pytest.raises(SigningError, match=r"damaged|nobody signed"):
            check(document[:length], key)
