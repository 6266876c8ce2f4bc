"""What the shop calculations advise on readings that are outside limits, for the board."""

from __future__ import annotations

from pydantic import BaseModel

from api.report.wording import ADVISES, item_words
from extract.shop.advice import advice_of
from shared.job_sheet import JobSheet
from shared.record import RebuildRecord


class AdviceLine(BaseModel):
    """One piece of advice."""

    about: str
    text: str
    formula: str
    sources: list[str]
    cautions: list[str]
    holds: str = ADVISES


def advice_lines(record: RebuildRecord, sheet: JobSheet) -> list[AdviceLine]:
    """Return the advice that uses a reading outside limits, in the order of the sheet; usually none."""
    outside = {r.id for r in record.readings if r.standing and r.verdict == "outside"}
    if not outside:
        return []
    return [
        AdviceLine(
            about=item_words(advice.about),
            text=advice.text,
            formula=advice.method.formula,
            sources=[str(source) for source in advice.method.sources],
            cautions=list(advice.method.cautions),
        )
        for advice in advice_of(sheet, record)
        if outside & set(advice.entries)
    ]
