"""When the talk was last about each thing of the sheet, and when about each part."""

from __future__ import annotations

from extract.heard import Heard
from extract.part_talk import PartTalk
from extract.photo_talk import PartMoment
from extract.reading_drafts import ReadingTalk
from extract.talk_context import TalkContext
from shared.record import Evidence


class Moments:
    """Moments of talk, in seconds of the recording."""

    def __init__(self) -> None:
        self.last: dict[tuple[str, str], float] = {}
        """Last second of talk about (item, part, of or step; its name)."""
        self.of_parts: list[PartMoment] = []
        """Every moment of talk about a part, in order."""

    def copy(self) -> Moments:
        """Return moments that can go on by themselves."""
        made = Moments()
        made.last, made.of_parts = {**self.last}, [*self.of_parts]
        return made

    def note(
        self, heard: Heard, parts: PartTalk, context: TalkContext, readings: ReadingTalk, evidence: Evidence
    ) -> None:
        """Take in what an utterance was about; ``evidence`` is that of talk about a part."""
        end_s = heard.utterance.end_s
        for kind in ("item", "step", "photo"):
            for mention in heard.mentions.of(kind):
                if mention.cost < 1:
                    for key in mention.keys:
                        self.last["of" if kind == "photo" else kind, key] = end_s
        for draft in readings.drafts:
            self.last["item", draft.item] = end_s
        if readings.about_item and context.item is not None:
            self.last["item", context.item] = end_s
        named = [part for group in parts.parts for part in group.parts]
        named += [part for _, group in parts.said for part in group.parts]
        for part in dict.fromkeys(named):
            self.last["part", part] = end_s
            self.of_parts.append(PartMoment(part, heard.utterance.start_s, False, evidence))

    def pictured(self, part: str, end_s: float, evidence: Evidence) -> None:
        """Note that a picture of a part was asked for."""
        self.last["of", part] = end_s
        self.of_parts.append(PartMoment(part, end_s, True, evidence))
