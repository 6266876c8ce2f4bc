"""Job talk as WebVTT captions (W3C, WebVTT: The Web Video Text Tracks Format)."""

from __future__ import annotations

from collections.abc import Iterable

from shared.speech import Utterance

_SHORTEST_CUE_S = 0.25


def captions(talk: Iterable[Utterance]) -> str:
    """Return a WebVTT file with one cue an utterance, in order of time.

    Args:
        talk: job talk only; whoever calls has kept chatter and paused speech out.
    """
    blocks = ["WEBVTT"]
    said = (u for u in sorted(talk, key=lambda u: (u.start_s, u.end_s)) if u.text.split())
    for number, utterance in enumerate(said, start=1):
        end_s = max(utterance.end_s, utterance.start_s + _SHORTEST_CUE_S)
        times = f"{_timestamp(utterance.start_s)} --> {_timestamp(end_s)}"
        blocks.append(f"{number}\n{times}\n{_escaped(utterance.text)}")
    return "\n\n".join(blocks) + "\n"


def _timestamp(seconds: float) -> str:
    """Return ``hh:mm:ss.ttt``; WebVTT wants exactly three decimals."""
    total_ms = round(max(0.0, seconds) * 1000)
    minutes, ms = divmod(total_ms, 60_000)
    hours, minutes = divmod(minutes, 60)
    return f"{hours:02d}:{minutes:02d}:{ms // 1000:02d}.{ms % 1000:03d}"


def _escaped(text: str) -> str:
    # A cue's text may hold neither markup nor the arrow nor an empty line.
    joined = " ".join(text.split())
    return joined.replace("&", "&amp;").replace("<", "&lt;").replace(">", "&gt;")
