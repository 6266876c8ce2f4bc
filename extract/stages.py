"""As found or as left: what the sheet says, what is said outright, what is being done."""

from __future__ import annotations

from collections.abc import Mapping, Sequence

from extract.clause import Clause
from extract.heard import Heard
from extract.new_ones import of_a_new_one, own_part_went_in
from extract.part_talk import PartTalk
from extract.reading_drafts import ReadingDraft
from extract.talk_context import StageRun, TalkContext
from extract.which_one import stage_by_which
from extract.word_sets import word_set
from shared.record import Stage
from shared.sheet_entries import Fastener, Reading

AS_FOUND: Stage = "as_found"
AS_LEFT: Stage = "as_left"
EITHER: Stage = "either"
#: "Before" with nothing behind it that it would be before of ("vane one before was thirty one").
_OPENERS = word_set("clauses.fillers") | {"so", "for"}
_BEFORE_ENDS = word_set("stages.before_ends")
#: First in time of what is being done, be that taking apart or building.
_FIRST = frozenset({"to start with", "at the start", "originally"})
#: What was said with an item's name holds for so many utterances.
_HOLDS = 4
_POINTING = frozenset({"that", "this", "these", "those"})
#: Lead from what was measured to when it was ("and so that's how it came in").
_LEADS_TO_TIME = _POINTING | {"'s", "is", "are", "was", "were", "all", "and", "so", "just", ",", "the"}
#: Words that tell of another time than what was said before.
_RESULTS = frozenset({"clearance", "play", "float", "backlash", "gap", "lift", "runout", "preload"})
_OTHER_TIME = ("going_in", "as_left", "as_found", "coming_out", "again")
#: Words that tell that something was moved, so that what is measured behind them is another thing.
_MOVES = word_set("stages.moves")
#: What is done to a part when the machine goes together again.
_BUILDING = ("renewed", "fitted", "reused")


def stage_of(
    heard: Heard, at: int, end: int, item: Reading | Fastener, position: str | None, context: TalkContext
) -> Stage:
    """Return the stage of a reading at ``position`` that stands on tokens ``at`` to before ``end``.

    Words that name the stage win over the sheet; where the sheet leaves it open, what is being
    done decides ("coming out was forty two", "is now thirty nine"), then the stage that the item's
    last reading had, then what was done last.
    """
    outright = said_outright(heard, at) or stage_by_which(heard, at, end, item)
    if outright == AS_FOUND and item.stage != AS_FOUND and _first_of_building(heard, at, context):
        return AS_LEFT
    if outright is not None:
        return outright
    if (announced := _announced(heard, item, context)) is not None:
        return announced
    clause = heard.clause_at(at)
    if item.stage != EITHER:
        run = _run_goes_on(heard, item, position, context)
        return run or _of_what_went_in(heard, at, item, context) or item.stage
    known = context.item_stages.get(item.item)
    doing = _going_in(heard, clause, known)
    if doing is None and not _comes_to(heard, at, item):
        doing = _said(heard, clause, ("coming_out",), AS_FOUND)
    elif doing is None and "new" in heard.norms(0, at):
        # "There's new gears in it and end clearance comes out three".
        doing = AS_LEFT
    doing = doing or _that_came_out(heard, at)
    if doing is None and of_a_new_one(heard, at, item.item):
        doing = AS_LEFT
    if doing is None and context.built_since_found(item.item, position):
        return AS_LEFT
    return doing or context.stage_goes_on(item.item) or context.phase or EITHER


def _comes_to(heard: Heard, at: int, item: Reading | Fastener) -> bool:
    """Whether "clearance comes out three thou" tells what it came to: no clearance comes out of a pump."""
    lead = [word for word in heard.norms(max(0, at - 4), at) if word not in ("at", "to", "as", "a")]
    return lead[-2:] in (["comes", "out"], ["came", "out"]) and not _RESULTS.isdisjoint(item.item.split("_"))


def one_stage(heard: Heard, drafts: Sequence[ReadingDraft], items: Mapping[str, Reading | Fastener]) -> None:
    """Give what is measured of one item in one breath one stage, where no words part them.

    "One's nineteen, two's eighteen, three's seventeen": a place that nobody measured as found is
    measured as left with the others.
    """
    if heard.mentions.cues("as_found", "as_left", "coming_out", "going_in"):
        return
    left = {draft.item for draft in drafts if draft.stage == AS_LEFT and draft.corrects is None}
    for draft in drafts:
        alone = draft.corrects is None and items[draft.item].stage == EITHER
        if draft.item in left and alone and draft.stage == AS_FOUND:
            draft.stage = AS_LEFT


def remember_stages(
    context: TalkContext,
    heard: Heard,
    parts: PartTalk,
    drafts: Sequence[ReadingDraft],
    items: Mapping[str, Reading | Fastener],
) -> None:
    """Move on with what stage the job is at; a value put right moves nothing, it was said long before."""
    context.phase = phase_of(heard) or context.phase or taking_apart(parts)
    for predicate, part in parts.said:
        if predicate.mood == "stated" and not predicate.denied and predicate.key in _BUILDING:
            context.built_at = heard.number
            if predicate.key != "reused":
                context.built.update(dict.fromkeys(part.parts, heard.number))
    for key in {draft.item for draft in drafts}:
        _remember_run(context, heard, drafts, items[key])
    for draft in drafts:
        if draft.stage == EITHER:
            continue
        context.item_stages[draft.item] = draft.stage
        if draft.stage == AS_FOUND:
            context.found_at[draft.item, draft.position] = heard.number
        if draft.corrects is None and (draft.stage == AS_LEFT or items[draft.item].stage != EITHER):
            context.phase = draft.stage


def _announced(heard: Heard, item: Reading | Fastener, context: TalkContext) -> Stage | None:
    """Return the stage said with an item's name shortly before ("end float before i pull it" … "nine")."""
    if context.announced is None or any(item.item in m.keys for m in heard.mentions.of("item")):
        return None
    named, stage, number = context.announced
    fresh = named == context.item == item.item and heard.number - number <= _HOLDS
    return stage if fresh and not heard.mentions.cues("going_in", "as_left", "as_found", "again") else None


def _run_goes_on(
    heard: Heard, item: Reading | Fastener, position: str | None, context: TalkContext
) -> Stage | None:
    """Return the stage said outright for other places of the item just before ("as found, one's thirty" …
    "two's thirty one"), None where a place comes again, something went in, or the words tell of another.
    """
    run = context.outright.get(item.item)
    if run is None or position is None or position in run.positions or context.item != item.item:
        return None
    if heard.number - run.last > _HOLDS or context.built_at > run.last:
        return None
    return None if heard.mentions.cues(*_OTHER_TIME) else run.stage


def end_runs(context: TalkContext, heard: Heard) -> None:
    """End what was being measured at another stage than its own where something is set or moved."""
    if not context.outright:
        return
    moved = not _MOVES.isdisjoint(token.norm for token in heard.tokens)
    if moved or heard.mentions.cues("as_left", "going_in"):
        context.outright.clear()


def _of_what_went_in(heard: Heard, at: int, item: Reading | Fastener, context: TalkContext) -> Stage | None:
    """Return as left where the new part is measured ("new shaft, and the runout on this one half a thou"),
    though the sheet wants the old one measured; None where it is not said to be new, or was measured so.
    """
    if item.stage != AS_FOUND or isinstance(item, Fastener):
        return None
    found = any(measured == item.item for measured, _ in context.found_at)
    new = of_a_new_one(heard, at, item.item) or (found and own_part_went_in(heard, context, item.item))
    return AS_LEFT if new else None


def _remember_run(
    context: TalkContext, heard: Heard, drafts: Sequence[ReadingDraft], item: Reading | Fastener
) -> None:
    """Note the run of an item's readings at the stage that is not its own; one at its own ends it."""
    mine = [draft for draft in drafts if draft.item == item.item and draft.corrects is None]
    stages = {draft.stage for draft in mine}
    if len(stages) != 1 or item.stage in stages | {EITHER}:
        if mine:
            context.outright.pop(item.item, None)
        return
    before = context.outright.get(item.item)
    places = frozenset(draft.position for draft in mine)
    if before is not None and before.stage == mine[0].stage:
        places |= before.positions
    context.outright[item.item] = StageRun(mine[0].stage, heard.number, places)


def said_outright(heard: Heard, at: int) -> Stage | None:
    """Return the stage that the words name for a reading at token ``at``, None where they name none."""
    clause = heard.clause_at(at)
    outright = _found_said(heard, clause) or _said(heard, clause, ("as_left",), AS_LEFT)
    if outright is None and _before_alone(heard, clause):
        outright = AS_FOUND
    if outright is None and len(heard.clauses) > 1:
        outright = _nearest(heard, at) or _told_last(heard)
    return outright


def _first_of_building(heard: Heard, at: int, context: TalkContext) -> bool:
    """Whether "to start with" tells of building up: parts went in since anything was measured as found."""
    clause = heard.clause_at(at)
    found = [m for m in heard.mentions.cues("as_found") if clause.holds(m)]
    past = {"was", "were", "had"} & set(heard.norms(clause.start, clause.end))
    only_first = bool(found) and not past and all(m.form in _FIRST - {"originally"} for m in found)
    return only_first and context.built_at > max(context.found_at.values(), default=-1)


def phase_of(heard: Heard) -> Stage | None:
    """Return the stage that an utterance shows the job to be at, None where it shows none."""
    found = heard.mentions.cues("as_found")
    if any(m.form not in _FIRST for m in found) or (found and not heard.mentions.cues("going_in")):
        return AS_FOUND
    if heard.mentions.cues("as_left"):
        return AS_LEFT
    return None


def _said(heard: Heard, clause: Clause, cues: tuple[str, ...], stage: Stage) -> Stage | None:
    return stage if any(clause.holds(m) for m in heard.mentions.cues(*cues)) else None


def _found_said(heard: Heard, clause: Clause) -> Stage | None:
    """Return as found where the words say so; "going back in thirty to start with" does not."""
    weak = bool(heard.mentions.cues("going_in")) and not heard.mentions.cues("coming_out")
    found = [m for m in heard.mentions.cues("as_found") if clause.holds(m)]
    return AS_FOUND if any(not weak or m.form not in _FIRST for m in found) else None


def _going_in(heard: Heard, clause: Clause, known: Stage | None) -> Stage | None:
    """Return as left where the words say so; a "now" that opens them only where a first value is known."""
    for mention in heard.mentions.cues("going_in"):
        opens = mention.form == "now" and all(
            word in _OPENERS for word in heard.norms(clause.start, mention.start)
        )
        if clause.holds(mention) and (not opens or known == AS_FOUND):
            return AS_LEFT
    return None


def _that_came_out(heard: Heard, at: int) -> Stage | None:
    """Return as found behind a clause that tells which one ("the pack that come out of there mics at …")."""
    led = any(
        m.start <= at and heard.norms(m.start - 1, m.start) in (["that"], ["which"], ["what"])
        for m in heard.mentions.cues("coming_out")
        if m.start
    )
    return AS_FOUND if led and not heard.mentions.cues("going_in") else None


def _before_alone(heard: Heard, clause: Clause) -> bool:
    """Whether "before" stands for itself and is before nothing in particular."""
    for i in range(clause.start, clause.end):
        # "Same as before" compares.
        if heard.tokens[i].norm == "before" and heard.norms(i - 1, i) not in (["as"], ["than"], ["like"]):
            following = heard.norms(i + 1, i + 2)
            if any(m.start == i + 1 and m.cost < 1 for m in heard.mentions.of("position")):
                # "Ring clearance before drive end sixty two".
                return i > clause.start
            return not following or following[0] in _BEFORE_ENDS
    return False


def _nearest(heard: Heard, at: int) -> Stage | None:
    """Return the stage named last before a token ("as found seven, as left one")."""
    named = [m for m in heard.mentions.cues("as_found", "as_left") if m.start <= at]
    if not named:
        return None
    return AS_LEFT if named[-1].key == AS_LEFT else AS_FOUND


def _told_last(heard: Heard) -> Stage | None:
    """Return the stage that the last words tell of all before them ("…, that's how i found it")."""
    for mention in heard.mentions.cues("as_found", "as_left"):
        clause = heard.clause_at(mention.start)
        lead = heard.norms(clause.start, mention.start)
        points = mention.form.split()[0] in _POINTING or bool(set(lead) & _POINTING)
        ends = set(heard.norms(mention.end, len(heard.tokens))) <= {"."}
        if points and ends and set(lead) <= _LEADS_TO_TIME:
            return AS_LEFT if mention.key == AS_LEFT else AS_FOUND
    return None


def taking_apart(parts: PartTalk) -> Stage | None:
    """Return as found where the first things said of parts are what they were like, or that they came off."""
    said = [p for p, _ in parts.said if p.mood == "stated" and not p.denied]
    return "as_found" if any(p.kind == "condition" or p.key == "removed" for p in said) else None
