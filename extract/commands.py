"""What the technician says to the tool itself: pictures, strike, pause, resume, read back, finish."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from extract.clause import clause_of
from extract.heard import Heard
from extract.mentions import Mention
from extract.numbers import is_number_word
from extract.recorder_orders import pause_order, resume_order, stands_alone
from extract.talk_context import TalkContext
from extract.word_sets import word_set

_ALONE = word_set("commands.alone")
_COMES_BACK = word_set("commands.comes_back")
_PLAIN = word_set("commands.plain_resume")
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
_NOT_YET = frozenset({"when", "once", "if", "after", "unless", "until", "till", "whenever", "as"})
_REASONS = frozenset({"before", "so", "cause", "because", "since"})
_NO_ORDER = frozenset({"always", "told", "shall", "should", "before", "first", "usually", "never"})
_NO_FINISH_AFTER = frozenset(
    {"to", "'ll", "i'll", "before", "when", "can", "'d", "don't", "not", "n't", "never", "didn't", "can't"}
)


@dataclass(frozen=True)
class Command:
    """A command at tokens ``start`` to before ``end``."""

    event: str
    start: int
    end: int
    part: str | None = None
    whole_last_utterance: bool = False
    """For a strike: all that was said last, not only its last entry."""


def read_commands(heard: Heard, context: TalkContext) -> list[Command]:
    """Return the commands in an utterance, in order."""
    found: list[Command] = []
    for mention in _longest(heard):
        command = _command(heard, mention, context)
        if command is not None and not any(
            (command.start < other.end and other.start < command.end)
            or command.event == other.event == "finish"
            for other in found
        ):
            found.append(command)
    pause = pause_order(heard)
    if pause is not None and all(pause.end <= c.start or c.end <= pause.start for c in found):
        found.append(Command("pause", pause.start, pause.end))
    if context.pictured_last and not found:
        found += _one_more_picture(heard)
    return sorted(found, key=lambda c: c.start)


def read_resume(heard: Heard, of_job: Callable[[str, bool], bool]) -> Command | None:
    """Return the command in an utterance that ends a pause.

    Args:
        heard: what is said in a pause.
        of_job: whether words are talk of the job: beyond doubt, or, where the order before them is said
            to nobody but the recorder, by what they name.
    """
    order = resume_order(heard)
    if order is None:
        return None
    if order.way == "leads":
        to_recorder = not _COMES_BACK.isdisjoint(heard.norms(order.start, order.end))
        if not of_job(heard.words(order.end, len(heard.tokens)), to_recorder):
            return None
    return Command("resume", order.start, order.end)


def resumes_alone(heard: Heard) -> Command | None:
    """Return the command that ends a pause where another hearing is nothing else, in plain words.

    "Go on" and "back again" are too little for that: a second hearing of any murmur has them.
    """
    order = resume_order(heard)
    if order is None or not stands_alone(order, heard):
        return None
    plain = order.way == "named" or not _PLAIN.isdisjoint(heard.norms(order.start, order.end))
    return Command("resume", order.start, order.end) if plain else None


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


def _command(heard: Heard, mention: Mention, context: TalkContext) -> Command | None:
    event = mention.keys[0]
    if event == "snapshot":
        return _snapshot(heard, mention, context)
    if event == "pause":
        return Command(event, mention.start, mention.end) if _stands_alone(heard, mention) else None
    if event == "resume":
        return None
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


def _finishes(heard: Heard, mention: Mention) -> bool:
    before = heard.norms(0, mention.start)
    after = [word for word in heard.norms(mention.end, len(heard.tokens)) if word.isalpha()]
    if len(mention.form.split()) == 1:
        # "New driven seal, finish": behind a name it says that the part is done, or what its face is like.
        named = any(m.end <= mention.start and m.cost < 1 for m in heard.mentions.of("part", "other_part"))
        others = named or (bool(before) and before[-1] in _OTHERS_FINISH)
        return not others and all(word in _FINISH_ENDS for word in after)
    if clause_of(heard.clauses, mention.start).mood in ("question", "conditional", "elsewhere"):
        return False  # "Should i close it up": nobody ends a job by asking.
    if after[:1] and after[0] in _NOT_YET:
        return False
    # "Finish the record before my dinner gets cold": the order's reason may be as long as it likes.
    if (before and before[-1] in _NO_FINISH_AFTER) or not _NO_ORDER.isdisjoint(before):
        return False
    if after[:1] and after[0] in _REASONS | {"and"} and (after[1:2] == ["far"] or _goes_on(heard, mention)):
        return False
    return len(after) <= 4 or after[0] in _REASONS


def _goes_on(heard: Heard, mention: Mention) -> bool:
    """Whether work or a value is told behind an order ("finish the record and vane one is eighteen")."""
    named = heard.mentions.of("item", "part", "step")
    return any(m.start >= mention.end and m.cost < 1 for m in named) or any(
        is_number_word(token) for token in heard.tokens[mention.end :]
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
    if mention.form == "forget that" and following and following[0] in ("i", "the", "it", "bit", "part"):
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
    if mention.form.endswith(" from") and not (after and after[0].start - mention.end <= 2):
        return None
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
