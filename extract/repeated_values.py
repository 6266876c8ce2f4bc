"""Values repeated by "the same again": what was asked about is asked about where it is repeated, too."""

from __future__ import annotations

from collections.abc import Sequence

from extract.heard import Heard
from extract.reading_drafts import ReadingDraft, value_candidate
from extract.talk_context import TalkContext


def doubt_repeated(heard: Heard, drafts: Sequence[ReadingDraft], context: TalkContext) -> None:
    """Ask about a value that only repeats one of the talk before which was asked about; remember these."""
    same = {m.start for m in heard.mentions.cues("same_value")}
    for draft in drafts[:1]:
        as_another = "as" in heard.norms(draft.start, draft.end + 1)
        if context.doubted_last and draft.start in same and draft.value is not None and not as_another:
            draft.ask("what it repeats was asked about", value_candidate(draft.value, draft.unit))
    if drafts:
        context.doubted_last = not all(draft.sure for draft in drafts)
