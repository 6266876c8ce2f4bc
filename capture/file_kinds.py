"""What a file is by its first bytes, whatever its name says, so that a mix-up is called by its name."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

#: Bytes that :func:`file_kind` looks at.
HEAD_BYTES = 4096

Family = Literal["picture", "sound", "other"]


@dataclass(frozen=True, slots=True)
class FileKind:
    """A kind of file, fit for a sentence: "this is a zip archive"."""

    name: str
    family: Family


_TEXT = FileKind("text", "other")
_HEIC = FileKind("a HEIC picture", "picture")
_AVIF = FileKind("an AVIF picture", "picture")

#: Offset, bytes, kind. From the formats' own standards (PNG: W3C PNG 3rd ed. 5.2; JPEG: ITU-T T.81
#: B.1.1.3; TIFF 6.0 section 2; RIFF: Microsoft/IBM 1991; EBML: RFC 8794; Ogg: RFC 3533; FLAC: RFC 9639;
#: PDF: ISO 32000).
_SIGNATURES: tuple[tuple[int, bytes, FileKind], ...] = (
    (0, b"\xff\xd8\xff", FileKind("a JPEG picture", "picture")),
    (0, b"\x89PNG\r\n\x1a\n", FileKind("a PNG picture", "picture")),
    (0, b"GIF8", FileKind("a GIF picture", "picture")),
    (0, b"BM", FileKind("a BMP picture", "picture")),
    (0, b"II*\0", FileKind("a TIFF picture", "picture")),
    (0, b"MM\0*", FileKind("a TIFF picture", "picture")),
    (8, b"WEBP", FileKind("a WebP picture", "picture")),
    (8, b"WAVE", FileKind("a WAV recording", "sound")),
    (8, b"AVI ", FileKind("an AVI video", "sound")),
    (0, b"fLaC", FileKind("a FLAC recording", "sound")),
    (0, b"OggS", FileKind("an Ogg recording", "sound")),
    (0, b"ID3", FileKind("an MP3 recording", "sound")),
    (0, b"\x1aE\xdf\xa3", FileKind("a WebM or Matroska recording", "sound")),
    (0, b"PK\x03\x04", FileKind("a zip archive", "other")),
    (0, b"%PDF", FileKind("a PDF document", "other")),
    (0, b"\x1f\x8b", FileKind("a gzip archive", "other")),
    (0, b"7z\xbc\xaf\x27\x1c", FileKind("a 7z archive", "other")),
    (0, b"Rar!", FileKind("a rar archive", "other")),
    (0, b"\x7fELF", FileKind("a program", "other")),
    (0, b"MZ", FileKind("a program", "other")),
    (0, b"SQLite format 3\0", FileKind("a database", "other")),
)

#: ISO/IEC 23008-12 (HEIF) brands.
_HEIC_BRANDS = {b"heic", b"heix", b"hevc", b"heim", b"heis", b"mif1", b"msf1"}


def file_kind(head: bytes) -> FileKind | None:
    """Return what the first bytes say a file is; None where they say nothing that we know."""
    if head[4:8] == b"ftyp":
        brands = {head[8:12], *(head[i : i + 4] for i in range(16, min(len(head), 64), 4))}
        if b"avif" in brands:
            return _AVIF
        return _HEIC if head[8:12] in _HEIC_BRANDS else FileKind("an MP4 or MOV recording", "sound")
    for offset, magic, kind in _SIGNATURES:
        if head[offset : offset + len(magic)] == magic:
            return kind
    return _TEXT if _is_text(head) else None


def read_head(path: Path) -> bytes:
    """Read what :func:`file_kind` wants; OSError is the caller's to translate."""
    with path.open("rb") as file:
        return file.read(HEAD_BYTES)


def _is_text(head: bytes) -> bool:
    if not head:
        return False
    if head[:2] in (b"\xff\xfe", b"\xfe\xff"):
        return b"\0" in head[2:8]
    try:
        # A character may be cut at the end of the head: leave the last three bytes out.
        text = (head[:-3] if len(head) == HEAD_BYTES else head).decode("utf-8")
    except UnicodeDecodeError:
        return False
    return all(character >= " " or character in "\t\r\n\f\x1b" for character in text)
