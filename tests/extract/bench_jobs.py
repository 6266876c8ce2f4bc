"""Hand-labelled bench talk for invented sheets: reading the labels and scoring a run.

``data/NAME.yaml`` is the sheet, ``data/NAME.talk.yaml`` a list of [words, label] in order,
``data/NAME.print.yaml`` the same utterances as a printing recogniser shows them. A label is a list
parted by ``;``:

    item@position#stage=value     a sure reading (position and stage only where they matter)
    fix item@position=value       the same, and it corrected an earlier reading
    ?item@position                a reading that must be asked about
    cond part:condition           a condition (cond? for one that must be asked about; ~ unlisted)
    act part:action*quantity      a part action
    use consumable>part           a consumable
    step s · noStep s             done, said to be left out
    evt event:part                a command
    dev item-or-part              a declared deviation
    hdr field=value · note · strike · chat · paused
    note?                         a finding that no list has: may be asked about, or is left
"""

from __future__ import annotations

import subprocess
import sys
from dataclasses import dataclass, field
from datetime import UTC, datetime
from fractions import Fraction
from pathlib import Path
from typing import Any

import yaml

from extract.record_builder import RecordBuilder
from shared.record import ConditionEntry, ConsumableEntry, PartEntry, ReadingEntry, StepEntry
from shared.speech import Utterance

DATA = Path(__file__).parent / "data"
FRESH = DATA / "fresh"
ROOT = DATA.parents[2]
#: Tuned on; the others were kept apart until the end.
TUNED = ("conveyor-gearbox", "dust-fan", "lube-gear-pump")
HELD_OUT = ("sewage-lift-pump", "shim-set-pump")


@dataclass
class Score:
    """Counts over utterances."""

    utterances: int = 0
    exact: int = 0
    readings: int = 0
    readings_right: int = 0
    asked: int = 0
    asked_rightly: int = 0
    missed: int = 0
    silently_wrong: int = 0
    findings: int = 0
    findings_right: int = 0
    findings_extra: int = 0
    chatter: int = 0
    chatter_entries: int = 0
    faults: list[str] = field(default_factory=list)

    @property
    def precision(self) -> float:
        """Of conditions and part actions."""
        said = self.findings_right + self.findings_extra
        return self.findings_right / said if said else 1.0

    @property
    def recall(self) -> float:
        """Of conditions and part actions."""
        return self.findings_right / self.findings if self.findings else 1.0

    @property
    def f1(self) -> float:
        """Of conditions and part actions."""
        both = self.precision + self.recall
        return 2 * self.precision * self.recall / both if both else 0.0

    def add(self, other: Score) -> None:
        """Add another score's counts."""
        for name, value in vars(other).items():
            if isinstance(value, list):
                self.faults += value
            else:
                setattr(self, name, getattr(self, name) + value)

    def summary(self) -> str:
        """One line of figures."""
        needless = self.asked - self.asked_rightly
        return (
            f"{self.exact}/{self.utterances} utterances exact; readings {self.readings_right}/{self.readings} right, "  # noqa: E501
            f"{self.silently_wrong} silently wrong, {self.missed} missed, {needless} asked needlessly; conditions and actions "  # noqa: E501
            f"P {self.precision:.3f} R {self.recall:.3f} F1 {self.f1:.3f} ({self.findings}); chatter entries "
            f"{self.chatter_entries}/{self.chatter}"
        )


def folder_of(name: str) -> Path:
    """Return where a job's files are."""
    return DATA if (DATA / f"{name}.talk.yaml").exists() else FRESH


def sheet_of(name: str) -> Path | str:
    """Return a job's sheet: its own, or what ``NAME.sheet`` names: a shipped one, or a path from the root."""
    named = folder_of(name) / f"{name}.sheet"
    if not named.exists():
        return folder_of(name) / f"{name}.yaml"
    sheet = named.read_text("utf-8").strip()
    return ROOT / sheet if sheet.endswith(".yaml") else sheet


def jobs_in(folder: Path) -> tuple[str, ...]:
    """Return the names of all jobs of a folder."""
    return tuple(sorted(path.name.removesuffix(".talk.yaml") for path in folder.glob("*.talk.yaml")))


def read_talk(name: str, *, printed: bool = False) -> list[tuple[str, str]]:
    """Return (words, label) of a job, in words or as printed."""
    folder = folder_of(name)
    lines = yaml.safe_load((folder / f"{name}.talk.yaml").read_text("utf-8"))
    talk = [(str(words), str(label)) for words, label in lines]
    if not printed:
        return talk
    shown = yaml.safe_load((folder / f"{name}.print.yaml").read_text("utf-8"))
    assert len(shown) == len(talk), name
    return [(str(text), label) for text, (_, label) in zip(shown, talk, strict=True)]


def score_job(name: str, *, printed: bool = False) -> Score:
    """Run a job's talk through a builder and score every utterance."""
    builder = RecordBuilder(sheet_of(name))
    score = Score()
    for number, (words, label) in enumerate(read_talk(name, printed=printed)):
        score_utterance(score, builder, f"{name} {number}", words, label, number)
    return score


def score_utterance(
    score: Score, builder: RecordBuilder, where: str, words: str, label: str, number: int
) -> None:
    """Tell a builder its utterance ``number`` and compare what it gives with the label."""
    before = _snapshot(builder)
    builder.hear(Utterance(words, number * 6.0, number * 6.0 + 4.0))
    after = _snapshot(builder)
    wanted = {part.strip() for part in label.split(";") if part.strip()}
    got = _got(builder, number, before, after)
    _compare(score, f"{where}: {words}", wanted, got, builder.talk_of(number))


def labels_of_last(sheet: Path | str, lines: list[str]) -> set[str]:
    """Tell utterances to a new builder; return what the last of them gave, as labels."""
    builder = RecordBuilder(sheet)
    before = _snapshot(builder)
    for number, line in enumerate(lines):
        before = _snapshot(builder)
        builder.hear(Utterance(line, number * 6.0, number * 6.0 + 4.0))
    return _got(builder, len(lines) - 1, before, _snapshot(builder))


def _snapshot(builder: RecordBuilder) -> dict[str, Any]:
    record = builder.record()
    return {
        "record": record,
        "ids": {
            e.id
            for e in [
                *record.readings,
                *record.conditions,
                *record.parts,
                *record.consumables,
                *record.steps,
                *record.notes,
            ]
        },
        "struck": {
            e.id
            for group in (record.readings, record.conditions, record.parts)
            for e in group
            if e.superseded_why == "struck"
        },
        "events": len(record.events),
        "declared": [d for d in record.deviations if d.kind == "declared"],
        "job": record.job.model_dump(),
        "loose": len(record.unfiled_numbers),
    }


def _got(builder: RecordBuilder, number: int, before: dict[str, Any], after: dict[str, Any]) -> set[str]:
    """Return what an utterance gave, as labels with everything spelled out."""
    record, got = after["record"], set()
    new = after["ids"] - before["ids"]
    corrected = {
        e.superseded_by for e in record.readings if e.superseded_why == "corrected" and e.superseded_by in new
    }
    for entry in [
        *record.readings,
        *record.conditions,
        *record.parts,
        *record.consumables,
        *record.steps,
        *record.notes,
    ]:
        if entry.id in new and not (entry.superseded_why == "corrected" and entry.superseded_by in new):
            got.add(_label(entry, entry.id in corrected))
    got |= {
        f"evt {e.event}" + (f":{e.part}" if e.part else "")
        for e in record.events[before["events"] :]
        if e.event != "strike_last"
    }
    if after["struck"] - before["struck"]:
        got.add("strike")
    got |= {f"dev {d.item or d.part}" for d in after["declared"][len(before["declared"]) :]}
    for name in ("work_order", "pump_tag", "pump_serial", "technician"):
        if after["job"][name] != before["job"][name]:
            got.add(f"hdr {name}={after['job'][name]}")
    return got


def _label(entry: Any, corrected: bool) -> str:
    if isinstance(entry, ReadingEntry):
        place = entry.item + (f"@{entry.position}" if entry.position else "")
        if entry.needs_review:
            return f"?{place}"
        return f"{'fix ' if corrected else ''}{place}#{entry.stage}={entry.value_exact}"
    if isinstance(entry, ConditionEntry):
        tilde = "~" if entry.unlisted else ""
        return f"cond{'?' if entry.needs_review and not entry.unlisted else ''} {tilde}{entry.part}:{entry.condition}"  # noqa: E501
    if isinstance(entry, PartEntry):
        count = f"*{entry.quantity}" if entry.quantity else ""
        return f"act{'?' if entry.needs_review and not entry.unlisted else ''} {'~' if entry.unlisted else ''}{entry.part}:{entry.action}{count}"  # noqa: E501
    if isinstance(entry, ConsumableEntry):
        return f"use {entry.name}>{entry.applied_to}"
    if isinstance(entry, StepEntry):
        return f"{'step' if entry.done else 'noStep'} {entry.step}"
    return "note"


def _same(wanted: str, got: str) -> bool:
    """Compare labels: an unsaid stage, a hedge on an unlisted part, an unsaid quantity do not matter."""
    if wanted == got:
        return True
    if wanted.startswith("cond? ~"):
        return got == "cond " + wanted.removeprefix("cond? ")
    if wanted.startswith("?"):
        return got.startswith("?") and (got == wanted or ("@" not in wanted and got.split("@")[0] == wanted))
    if wanted.startswith("hdr ") and got.startswith("hdr "):
        return _loosely(wanted) == _loosely(got)
    if wanted.startswith("act ") and got.startswith("act ") and "*" not in wanted:
        return got.split("*")[0] == wanted
    return _is_reading(wanted) and _is_reading(got) and _reading(wanted, got)


def _loosely(text: str) -> str:
    return text.lower().replace("-", "").replace(" ", "")


def _is_reading(label: str) -> bool:
    head = label.removeprefix("fix ")
    return "=" in head and not head.startswith(("hdr ", "?"))


def _reading(wanted: str, got: str) -> bool:
    if wanted.startswith("fix ") != got.startswith("fix "):
        return False
    want_place, want_value = wanted.removeprefix("fix ").split("=")
    got_place, got_value = got.removeprefix("fix ").split("=")
    if "#" not in want_place:
        got_place = got_place.split("#")[0]
    return want_place == got_place and Fraction(want_value) == Fraction(got_value)


def _compare(score: Score, where: str, wanted: set[str], got: set[str], talk: str) -> None:
    left = got - {"note"} if "note?" in wanted else set(got)
    missing = []
    for want in sorted(wanted - {"chat", "paused", "note?"}):
        hit = next((label for label in sorted(left) if _same(want, label)), None)
        if hit is None:
            missing.append(want)
        else:
            left.remove(hit)
            _count_hit(score, want)
    score.utterances += 1
    for want in missing:
        _count_miss(score, want)
    for label in left:
        _count_extra(score, label)
    _count_talk(score, wanted, got)
    chatty = ("chat" in wanted and talk != "chatter") or ("paused" in wanted and talk != "paused")
    if not missing and not left and not chatty:
        score.exact += 1
    else:
        score.faults.append(f"{where}\n      missing {missing} extra {sorted(left)} talk {talk}")


def _count_hit(score: Score, want: str) -> None:
    if want.startswith("?"):
        score.asked += 1
        score.asked_rightly += 1
    elif _is_reading(want):
        score.readings += 1
        score.readings_right += 1
    elif want.startswith(("cond", "act")):
        score.findings += 1
        score.findings_right += 1


def _count_miss(score: Score, want: str) -> None:
    if _is_reading(want):
        score.readings += 1
        score.missed += 1
    elif want.startswith(("cond", "act")):
        score.findings += 1


def _count_extra(score: Score, label: str) -> None:
    if label.startswith("?"):
        score.asked += 1
    elif _is_reading(label):
        score.silently_wrong += 1
    elif label.startswith(("cond", "act")):
        score.findings_extra += 1


def _count_talk(score: Score, wanted: set[str], got: set[str]) -> None:
    if "chat" in wanted or "paused" in wanted:
        score.chatter += 1
        score.chatter_entries += bool(got)


def table_row(name: str, score: Score, *, printed: bool, when: str, commit: str) -> str:
    """Return totals as a row of ``data/fresh/FIRST_RUN.md``."""
    cells = (
        when, commit, name, "print" if printed else "words", f"{score.exact}/{score.utterances}",
        f"{score.readings_right}/{score.readings}", score.silently_wrong, score.missed,
        score.asked - score.asked_rightly, f"{score.precision:.3f}", f"{score.recall:.3f}", f"{score.f1:.3f}",
        f"{score.chatter_entries}/{score.chatter}",
    )  # fmt: skip
    return "| " + " | ".join(str(cell) for cell in cells) + " |"


def run_of_now() -> tuple[str, str]:
    """Return the time, UTC, and the commit that a table's rows name."""
    git = ["git", "rev-parse", "--short", "HEAD"]
    commit = subprocess.run(git, capture_output=True, text=True, check=False, cwd=DATA).stdout.strip()
    return datetime.now(UTC).strftime("%d %b %H:%M"), commit


def main(names: list[str]) -> None:
    """Print the rows of the named jobs, or of every fresh one."""
    when, commit = run_of_now()
    for name in names or jobs_in(FRESH):
        for printed in (False, True):
            if not printed or (folder_of(name) / f"{name}.print.yaml").exists():
                score = score_job(name, printed=printed)
                print(table_row(name, score, printed=printed, when=when, commit=commit))


if __name__ == "__main__":
    main(sys.argv[1:])
