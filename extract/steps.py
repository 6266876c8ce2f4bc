"""Steps of the sheet: said to be done, said to be left out, and who stood by."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

from extract.clause import Clause
from extract.entry_drafts import StepDraft
from extract.heard import Heard
from extract.mentions import Mention
from extract.word_sets import word_set
from shared.job_sheet import JobSheet

#: A step whose name ends so is a thing that is done, not a statement of itself.
_NOUN_ENDS = word_set("steps.noun_ends")
#: What may stand between the words of a step ("turns over lovely and freely").
_GAP = word_set("steps.gap")
_WATCHED = word_set("steps.watched")
_NO_NAMES = word_set("steps.no_names")
_NUMBER_UNITS = word_set("steps.number_units")
_NOT_DONE = word_set("steps.not_done")
_NOT_BETWEEN = word_set("steps.not_between")
#: Letters that two forms of one long word share.
_ROOT = 8


def read_steps(sheet: JobSheet, heard: Heard, has_reading: bool) -> list[StepDraft]:
    """Return the steps that an utterance says were done or left out.

    Args:
        has_reading: a reading was taken in the same breath; a test with a figure was made.
    """
    holds = {step.step for step in sheet.steps if step.hold}
    drafts: dict[str, StepDraft] = {}
    for mention in [*heard.mentions.of("step"), *_spread(sheet, heard)]:
        for key in mention.keys:
            done = _done(heard, mention, has_reading)
            if done is None or key in drafts:
                continue
            witness = _witness(heard) if done and key in holds else None
            drafts[key] = StepDraft(
                key,
                done,
                witness,
                mention.start,
                f"step: {mention.form!r} said to be {'done' if done else 'left out'}",
            )
            clause = heard.clause_at(mention.start)
            if done and clause.hedged:
                drafts[key].doubts.ask("the speaker was not sure")
            if done and _failed(heard, mention):
                drafts[key].doubts.ask("said to have failed")
    for key, start, said in _undone(sheet, heard):
        mood = heard.clause_at(start).mood
        if mood not in ("question", "conditional", "elsewhere", "future"):
            drafts[key] = StepDraft(key, False, None, start, f"step: {said!r} said not to be done")
    return list(drafts.values())


def _lately(heard: Heard, clause: Clause) -> bool:
    """Whether nothing but "last night" told of another time: what was washed then is washed now."""
    told = [cue.form.split()[-1] for cue in heard.mentions.cues("elsewhere") if clause.holds(cue)]
    return bool(told) and all(word in ("night", "day") for word in told)


def _undone(sheet: JobSheet, heard: Heard) -> list[tuple[str, int, str]]:
    """Find steps denied by their name ("isolation was not verified", "the guard is not fitted").

    Returns each step with the token that its name starts at, and the words.
    """
    norms = [token.norm for token in heard.tokens]
    found: list[tuple[str, int, str]] = []
    if not any(norm == "not" or norm.endswith("n't") for norm in norms):
        return found
    for step in sheet.steps:
        words = step.step.split("_")
        name = words[:-1] if len(words) > 1 else words
        for start in range(len(norms) - len(name)):
            if not all(_same_root(*pair) for pair in zip(norms[start:], name, strict=False)):
                continue
            at = start + len(name)
            while at < len(norms) and norms[at] in _NOT_BETWEEN:
                at += 1
            denied = at < len(norms) and (norms[at] == "not" or norms[at].endswith("n't"))
            done = next((word for word in norms[at + 1 : at + 4] if word not in _NOT_BETWEEN), "")
            if denied and (done in _NOT_DONE or _same_root(done, words[-1])):
                found.append((step.step, start, " ".join(norms[start : at + 1])))
                break
    return found


def _same_root(word: str, of: str) -> bool:
    """Whether two words are forms of one: "decontamination" and "decontaminated"."""
    return word == of or (len(of) > _ROOT and word[:_ROOT] == of[:_ROOT])


def _done(heard: Heard, mention: Mention, has_reading: bool) -> bool | None:
    """Return True where a step is said to be done, False where left out, None where neither."""
    clause = heard.clause_at(mention.start)
    skips = [
        cue
        for cue in heard.mentions.cues("skipped")
        if clause.holds(cue) or 0 <= cue.start - mention.end <= 2
    ]
    near = [
        cue
        for cue in skips
        if 0 <= mention.start - cue.end <= 3
        or (0 <= cue.start - mention.end <= 4 and not _skips_what_follows(heard, cue, mention))
    ] + [cue for cue in heard.mentions.cues("skipped") if _leaves_out_before(heard, mention, cue)]
    if clause.mood in ("question", "conditional") or (
        clause.mood == "elsewhere" and not _lately(heard, clause)
    ):
        return None
    if _left_out_around(heard, mention):
        return False
    near = [cue for cue in near if not _done_between(heard, mention, cue)]
    if near and not (clause.mood == "future" and near[0].form.startswith("skip") and _will(heard, near[0])):
        return False
    denied = any(
        clause.holds(cue) and cue.start < mention.start and mention.start - cue.end <= 4
        for cue in heard.mentions.cues("negation")
    )
    noun = _is_noun(mention)
    if noun and _denied_behind(heard, mention):
        return False
    if denied:
        return False if noun and _no_before(heard, mention) else None
    if any(
        clause.holds(cue) and (cue.start < mention.start or cue.form in _LATER)
        for cue in heard.mentions.cues("future")
    ):
        return None
    if not noun:
        return None if _imperative(heard, mention) else True
    behind = [
        cue
        for cue in heard.mentions.cues("done_after")
        if 0 <= cue.start - mention.end <= 2 and not _only_so_far(heard, mention, cue)
    ]
    ahead = [cue for cue in heard.mentions.cues("done_before") if 0 <= mention.start - cue.end <= 1]
    return True if behind or ahead or has_reading else None


def _denied_behind(heard: Heard, mention: Mention) -> bool:
    """Whether it has "not been done", "isn't done"."""
    behind = heard.norms(mention.end, mention.end + 5)
    for n, word in enumerate(behind):
        if word == "not" or word.endswith("n't"):
            said = [word for word in behind[n + 1 :] if word not in ("been", "being", "yet", "even", "got")]
            return said[:1] in (["done"], ["made"], ["carried"], ["performed"], ["completed"])
        if word not in ("'s", "is", "was", "has", "have", "it", "are", "still"):
            return False
    return False


def _only_so_far(heard: Heard, mention: Mention, cue: Mention) -> bool:
    """Whether "clean" or "no bubbles" is denied or does not last ("wasn't clean", "no leak yet")."""
    if not (cue.form.startswith("no ") or cue.form.endswith("clean")):
        return False
    denied = not _DENYING.isdisjoint(heard.norms(mention.end, cue.end))
    return denied or not _SO_FAR.isdisjoint(heard.norms(cue.end, cue.end + 2))


def _skips_what_follows(heard: Heard, cue: Mention, mention: Mention) -> bool:
    """Whether a verb names behind it what was left out ("drained down, skipped the flush").

    Where somebody stands before the verb, what was left out was said before ("flush we skipped the …").
    """
    somebody = heard.norms(cue.start - 1, cue.start) in (["i"], ["we"], ["they"], ["'ve"])
    passive = heard.norms(cue.start - 1, cue.start) in (["was"], ["is"], ["'s"], ["were"], ["been"], ["got"])
    named = heard.norms(cue.end, cue.end + 1) in (["the"], ["a"], ["our"], ["any"]) and not passive
    # "Flushed out, then I skipped the paint" left out the paint.
    return cue.form in _SKIPPING and named and (not somebody or not _is_noun(mention))


def _left_out_around(heard: Heard, mention: Mention) -> bool:
    """Whether the name stands between "leaving" and "out" ("I'm leaving the swab test out")."""
    clause = heard.clause_at(mention.start)
    lead = heard.norms(clause.start, mention.start)
    verb = [word for word in lead if word not in ("the", "that", "this")][-1:]
    leaving = verb in (["leaving"], ["left"], ["leave"]) and _NEVER.isdisjoint(lead)
    out = heard.norms(mention.end, mention.end + 1) == ["out"]
    return leaving and out and clause.mood == "stated"


def _done_between(heard: Heard, mention: Mention, skip: Mention) -> bool:
    """Whether a step was said to be done before something else was left out ("oil change done, i …")."""
    done = [cue for cue in heard.mentions.cues("done_after") if 0 <= cue.start - mention.end <= 1]
    return any(cue.end <= skip.start for cue in done)


def _leaves_out_before(heard: Heard, mention: Mention, cue: Mention) -> bool:
    """Whether a clause of its own says that what was named before was left out ("oil change i skipped")."""
    clause = heard.clause_at(cue.start)
    said = heard.clause_at(mention.start)
    somebody = heard.norms(clause.start, cue.start) in (["i"], ["we"], ["that", "i"], ["that", "we"])
    behind = heard.norms(cue.end, cue.end + 1)
    ends = (
        not behind or behind[0] in ("because", "cause", "as", "since", ".", ",", "no") or _goes_on(heard, cue)
    )
    between = heard.norms(mention.end, clause.start)
    placed = not between or (between[0] in ("in", "on", "of", "at", "for", "with") and len(between) <= 4)
    other = any(mention.end <= m.start < clause.start for m in heard.mentions.of("step", "item", "condition"))
    placed = placed and "," not in between and not other
    placed = placed and (_is_noun(mention) or mention.form.endswith("change"))
    follows = placed and said.start < clause.start and clause.start in (said.end, said.end + 1)
    return follows and somebody and ends and not _done_between(heard, mention, cue)


def _goes_on(heard: Heard, skip: Mention) -> bool:
    """Whether a reason follows ("… we skipped, paste is finished"), no step or part that was skipped."""
    named = any(
        0 <= m.start - skip.end <= 1 and m.kind in ("step", "part", "other_part") for m in heard.mentions.all
    )
    copula = set(heard.norms(skip.end + 1, skip.end + 3)) & {"is", "are", "was", "'s"}
    return bool(copula) and not named


_DENYING = frozenset({"n't", "not", "never", "isn't", "wasn't", "hardly"})
_SO_FAR = frozenset({"yet", "at", "as", "that", "but", "so", "until", "till", "when"})
_NEVER = frozenset({"not", "n't", "never", "don't", "can't", "won't", "cannot"})
_SKIPPING = frozenset({"skipped", "skipping", "omitted", "bypassed", "left out", "never did", "didn't do"})
_LATER = frozenset({"tomorrow", "next week", "later", "later on", "not yet", "soon"})


def _will(heard: Heard, cue: Mention) -> bool:
    return any(m.end <= cue.start and cue.start - m.end <= 2 for m in heard.mentions.cues("future"))


def _is_noun(mention: Mention) -> bool:
    words = mention.form.split()
    # "On test", "is under test" say how it stands; "the air test" is only named.
    return words[-1] in _NOUN_ENDS and words[-2:-1] not in (["on"], ["under"])


def _no_before(heard: Heard, mention: Mention) -> bool:
    return heard.norms(mention.start - 1, mention.start) == ["no"]


def _imperative(heard: Heard, mention: Mention) -> bool:
    """Whether a verb phrase only asks for the step ("wipe the faces before you …")."""
    before = heard.norms(mention.start - 2, mention.start)
    return bool(before) and before[-1] in ("to", "until", "till", "before", "when")


def _failed(heard: Heard, mention: Mention) -> bool:
    words = heard.norms(mention.start - 3, mention.start) + heard.norms(mention.end, mention.end + 3)
    return bool({"failed", "fail", "fails"} & set(words))


def _witness(heard: Heard) -> str | None:
    """Return who stood by ("ray stood here and watched it", "witnessed by the foreman")."""
    norms = [token.norm for token in heard.tokens]
    for i, norm in enumerate(norms):
        if norm not in _WATCHED:
            continue
        if norms[i + 1 : i + 2] == ["by"]:
            name = [word for word in norms[i + 2 : i + 4] if word not in ("the", "a", "our", "my")]
            return name[0] if name and name[0].isalpha() else None
        if i and norms[i - 1] not in _NO_NAMES and norms[i - 1].isalpha():
            return norms[i - 1]
        if (
            i > 1
            and norms[i - 1] in ("has", "was", "is", "'s")
            and norms[i - 2] not in _NO_NAMES
            and norms[i - 2].isalpha()
        ):
            return norms[i - 2]
    return None


def _spread(sheet: JobSheet, heard: Heard) -> list[Mention]:
    """Find a step's words with others between ("turns over lovely and freely", "spins nice by hand")."""
    taken = {key for m in heard.mentions.of("step") for key in m.keys}
    stems = [_stem(token.norm) for token in heard.tokens]
    found: list[Mention] = []
    for step in sheet.steps:
        if step.step in taken:
            continue
        for form in step.spoken:
            words = _stems_of(form)
            span = _in_order(stems, words) if len(words) > 1 else None
            if span is not None:
                found.append(Mention("step", (step.step,), span[0], span[1], form, 0.4))
                break
    return found


@lru_cache(maxsize=4096)  # some sheets' steps
def _stems_of(form: str) -> tuple[str, ...]:
    return tuple(_stem(word) for word in form.split() if word not in ("the", "a", "and", "by", "of"))


def _in_order(stems: list[str], words: Sequence[str]) -> tuple[int, int] | None:
    for start, stem in enumerate(stems):
        if stem != words[0]:
            continue
        at = start
        for word in words[1:]:
            reach = stems[at + 1 : at + 5]
            if word not in reach or any(between not in _GAP for between in reach[: reach.index(word)]):
                break
            at += 1 + reach.index(word)
        else:
            return start, at + 1
    return None


@lru_cache(maxsize=8192)
def _stem(word: str) -> str:
    for ending in ("ing", "ely", "ly", "ed", "es", "s"):
        if word.endswith(ending) and len(word) - len(ending) >= 3:
            return word[: -len(ending)]
    return word
