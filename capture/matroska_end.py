"""Whether a Matroska or WebM file ends where its elements end (RFC 8794 EBML, RFC 9559 Matroska).

Browsers write segments and clusters of unknown length. Such an element ends where one begins that
cannot stand inside of it, or at the end of the file.
"""

from __future__ import annotations

from typing import BinaryIO

_SEGMENT, _CLUSTER = 0x18538067, 0x1F43B675
_CLUSTER_BYTES = _CLUSTER.to_bytes(4, "big")
_SEARCH_BYTES = 1 << 16


def matroska_ends(file: BinaryIO, size: int) -> tuple[bool | None, str]:
    """Walk the elements to the end of the file.

    A damaged stretch is walked round, as decoders do: they find the next cluster.

    Returns:
        Whether the file is complete (None where its segment states no length, so that a cut between
        two elements cannot be seen), and what is amiss.
    """
    at = 0
    whole: bool | None = True
    while at < size:
        file.seek(at)
        head = file.read(12)
        element, id_bytes = _number(head, 0, keep_marker=True)
        length, length_bytes = _number(head, id_bytes, keep_marker=False) if id_bytes else (0, 0)
        begin = at + id_bytes + length_bytes
        unknown = length_bytes > 0 and length == (1 << 7 * length_bytes) - 1
        if not length_bytes or (unknown and element not in (_SEGMENT, _CLUSTER)):
            if size - at < 12:
                return False, "the file ends inside of an element's header"
            found = _next_cluster(file, at + 1)
            if found is None:
                return False, f"damaged from byte {at} to the end"
            at = found
        elif unknown:
            whole = None
            at = begin
        elif begin + length > size:
            return False, f"the file ends before its element does; bytes missing: {begin + length - size}"
        else:
            # A segment of known length is walked too: its clusters tell more than its own length.
            at = begin if element == _SEGMENT else begin + length
    return whole, ""


def _next_cluster(file: BinaryIO, start: int) -> int | None:
    file.seek(start)
    at, kept = start, b""
    while block := file.read(_SEARCH_BYTES):
        found = (kept + block).find(_CLUSTER_BYTES)
        if found >= 0:
            return at - len(kept) + found
        at += len(block)
        kept = (kept + block)[-3:]
    return None


def _number(data: bytes, at: int, *, keep_marker: bool) -> tuple[int, int]:
    """Return a variable-length number and how many bytes it takes; (0, 0) where there is none."""
    if at >= len(data) or data[at] == 0:
        return 0, 0
    width = 9 - data[at].bit_length()
    if at + width > len(data) or (keep_marker and width > 4):
        return 0, 0
    value = int.from_bytes(data[at : at + width], "big")
    return (value if keep_marker else value & (1 << 7 * width) - 1), width
