"""What the technician says to the tool itself: pictures, strike, pause, resume, read back, finish."""

from __future__ import annotations

from dataclasses import dataclass

from extract.clauses import clause_of
from extract.heard import Heard
from extract.mentions import Mention
from extract.talk_context import TalkContext
from extract.word_sets import word_set

_ALONE = word_set("commands.alone")
_OF_THE_RECORDER = word_set("commands.of_the_recorder")
_NO_ORDER_AFTER = word_set("commands.no_order_after")
_COMES_BACK = word_set("commands.comes_back")
_ONE_MORE = word_set("commands.one_more")
_ASKS_ABOUT = word_set("commands.asks_about")
#: "A photo of my dog" is none for the record.
_OTHERS_THINGS: tuple[list[str], ...] = (
    ["my"],
    ["his"],
    ["her"],
    ["your"],
    ["their"],
    ["me"],
    ["you"],
    ["us"],
)
_FINISH_ENDS = word_set("commands.finish_ends")
_OTHERS_FINISH = word_set("commands.others_finish")


@dataclass(frozen=True)
class Command:
    """A command at tokens ``start`` to before ``end``."""

    event: str
    start: int
    end: int
    part: str | None = None
    whole_last_utterance: bool = False
    """For a strike: all that was said last, not only its last entry."""


def read_commands(heard: Heard, context: TalkContext, paused: bool) -> list[Command]:
    """Return the commands in an utterance, in order; in a pause only the one that ends it."""
    found: list[Command] = []
    for mention in _longest(heard):
        command = _command(heard, mention, context, paused)
        if command is not None and not any(
            command.start < other.end and other.start < command.end for other in found
        ):
            found.append(command)
    if context.pictured_last and not found and not paused:
        found += _one_more_picture(heard)
    if paused:
        return [command for command in found if command.event == "resume"][:1]
    return sorted([c for c in found if c.event != "resume"], key=lambda c: c.start)


def _one_more_picture(heard: Heard) -> list[Command]:
    """Find "and the impeller", "now get one of the seat" right after a picture was asked for."""
    parts = [m for m in heard.mentions.of("photo") or heard.mentions.of("part") if m.cost < 1]
    if not parts:
        return []
    part = max(parts, key=lambda m: m.end - m.start)
    around = heard.norms(0, part.start) + heard.norms(part.end, len(heard.tokens))
    if any(word not in _ONE_MORE for word in around):
        return []
    return [Command("snapshot", 0, len(heard.tokens), part.key)]


def _longest(heard: Heard) -> list[Mention]:
    return sorted(heard.mentions.of("command"), key=lambda m: (-(m.end - m.start), m.start))


def _command(heard: Heard, mention: Mention, context: TalkContext, paused: bool) -> Command | None:
    event = (
        mention.keys[0]
        if len(mention.keys) == 1
        else ("resume" if paused and "resume" in mention.keys else mention.keys[0])
    )
    if event == "snapshot":
        return _snapshot(heard, mention, context)
    if event == "pause":
        meant = _stands_alone(heard, mention) or _names_recorder(heard, mention)
        return Command(event, mention.start, mention.end) if meant else None
    if event == "resume":
        meant = paused and _resumes(heard, mention)
        return Command(event, mention.start, mention.end) if meant else None
    if event == "finish":
        return Command(event, mention.start, mention.end) if _finishes(heard, mention) else None
    if event == "strike_last":
        return _strike(heard, mention)
    clause = clause_of(heard.clauses, mention.start)
    return (
        Command(event, mention.start, mention.end)
        if clause.mood not in ("conditional", "elsewhere")
        else None
    )


def _stands_alone(heard: Heard, mention: Mention) -> bool:
    """Whether nothing but small words stands beside it in its clause or utterance."""
    clause = clause_of(heard.clauses, mention.start)
    around = heard.norms(clause.start, mention.start) + heard.norms(mention.end, max(clause.end, mention.end))
    return all(word in _ALONE for word in around)


def _names_recorder(heard: Heard, mention: Mention) -> bool:
    """Whether it names recording or listening itself, as an order: nothing else is meant by that.

    People run on without a breath ("eighteen thou pause recording my wife is on the phone").
    """
    before = heard.norms(mention.start - 1, mention.start)
    return not _OF_THE_RECORDER.isdisjoint(mention.form.split()) and not (
        before and before[0] in _NO_ORDER_AFTER
    )


def _resumes(heard: Heard, mention: Mention) -> bool:
    """Whether it ends a pause; private talk has its own "go on" and "back on Monday"."""
    if _stands_alone(heard, mention) or _names_recorder(heard, mention):
        return True
    if [word for word in heard.norms(0, mention.start) if word not in _ALONE] in (
        ["may"],
        ["can"],
        ["you", "may"],
        ["you", "can"],
    ):
        # "You may resume the recording" is said to the recorder when nothing else is said.
        return all(word in _ALONE for word in heard.norms(mention.end, len(heard.tokens)))
    begins = all(word in _ALONE for word in heard.norms(0, mention.start))
    return begins and mention.form.split()[0] in _COMES_BACK


def _finishes(heard: Heard, mention: Mention) -> bool:
    before = heard.norms(mention.start - 1, mention.start)
    after = heard.norms(mention.end, len(heard.tokens))
    if len(mention.form.split()) == 1:
        if before and before[0] in _OTHERS_FINISH:
            return False
        return all(word in _FINISH_ENDS for word in after)
    return (
        not (before and before[0] in ("to", "'ll", "i'll", "before", "when", "can", "'d")) and len(after) <= 4
    )


def _strike(heard: Heard, mention: Mention) -> Command | None:
    if heard.norms(mention.start - 1, mention.start) in (
        ["don't"],
        ["not"],
        ["never"],
        ["to"],
        ["can't"],
        ["n't"],
    ):
        return None
    clause = clause_of(heard.clauses, mention.start)
    if clause.mood == "question" and heard.tokens[clause.start].norm in _ASKS_ABOUT:
        return None
    following = heard.norms(mention.end, mention.end + 1)
    if (
        mention.form.startswith("forget that")
        and following
        and following[0] in ("i", "the", "it", "bit", "part")
    ):
        return Command("strike_last", mention.start, mention.end, None, True) if following[0] == "i" else None
    whole = "last" not in mention.form and "one" not in mention.form
    return Command("strike_last", mention.start, mention.end, None, whole)


def _snapshot(heard: Heard, mention: Mention, context: TalkContext) -> Command | None:
    clause = clause_of(heard.clauses, mention.start)
    asks = heard.tokens[clause.start].norm in _ASKS_ABOUT and mention.start > clause.start
    if asks or clause.mood in ("conditional", "elsewhere"):
        return None
    before = heard.norms(mention.start - 2, mention.start)
    if "another" in before or "that" in before or "no" in before:
        return None
    after = sorted(
        (m for m in heard.mentions.of("photo", "part", "other_part") if 0 <= m.start - mention.end <= 6),
        key=lambda m: (m.start, m.kind != "photo", -(m.end - m.start)),
    )
    if after:
        first = _best_of(after)
        return Command("snapshot", mention.start, first.end, first.key)
    if mention.form in ("snapshot", "snap the", "photograph the", "shot of") and mention.form != "snapshot":
        return None
    earlier = [m for m in heard.mentions.of("photo", "part") if m.end <= mention.start]
    if earlier:
        return Command("snapshot", mention.start, mention.end, earlier[-1].key)
    if mention.form.endswith(" of") and heard.norms(mention.end, mention.end + 1)[:1] in _OTHERS_THINGS:
        return None
    focus = context.focus()
    return Command("snapshot", mention.start, mention.end, focus[0][-1] if focus else None)


def _best_of(after: list[Mention]) -> Mention:
    """Return the first thing named, the longest name of it, photos of the sheet before parts."""
    near = [m for m in after if m.start <= after[0].start + 1 or m.start < after[0].end]
    return max(near, key=lambda m: (m.end - m.start, m.kind == "photo", m.kind == "part"))
