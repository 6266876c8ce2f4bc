"""Shop calculations and candidate causes as the report shows them: advice, beside what it uses."""

from __future__ import annotations

from collections.abc import Sequence

from api.report.view import AdviceRow, AdviceView, Fact, Highlight
from api.report.wording import counted, heard_at, item_words
from extract.shop.advice import Advice, advice_of
from shared.job_sheet import JobSheet
from shared.record import Entry, RebuildRecord


def advice_view(record: RebuildRecord, sheet: JobSheet) -> AdviceView:
    """Return all advice on a record, in the order of the sheet, with its sources and cautions once each."""
    found = advice_of(sheet, record)
    methods = {advice.method.name: advice.method for advice in found}.values()
    return AdviceView(
        rows=[_row(record, advice) for advice in found],
        sources=[Fact(method.title, "; ".join(map(str, method.sources))) for method in methods],
        cautions=list(dict.fromkeys(text for method in methods for text in method.cautions)),
    )


def advice_highlights(rows: Sequence[AdviceRow]) -> list[Highlight]:
    """Return one line for all advice that has to be asked about; none where nothing has to."""
    asked = [row for row in rows if row.ask]
    if not asked:
        return []
    text = f"{asked[0].about}: {asked[0].ask}"
    if len(asked) > 1:
        text += f"; and {counted(len(asked) - 1, 'calculation')} more, under Shop calculations"
    return [Highlight("!", "advice", text, asked[0].when)]


def _row(record: RebuildRecord, advice: Advice) -> AdviceRow:
    used = sorted(
        (entry for entry in _entries(record) if entry.id in advice.entries), key=lambda e: e.evidence.start_s
    )
    times = list(
        dict.fromkeys(when for e in used if e.evidence.words and (when := heard_at(record, e.evidence).when))
    )
    return AdviceRow(
        about=item_words(advice.about),
        text=advice.text,
        calculation=advice.method.title,
        when=times[0] if len(times) == 1 else f"{times[0]} to {times[-1]}" if times else "",
        ask=advice.ask,
    )


def _entries(record: RebuildRecord) -> list[Entry]:
    return [*record.readings, *record.conditions, *record.consumables, *record.photos]
