"""What the bench makes of a long job's review: a real page with every entry, a clip of its sound."""

from __future__ import annotations

import pytest

from bench.review_page import long_record, measure


def test_a_long_job_has_its_entries_spread_over_its_hours() -> None:
    record = long_record(60, 0.5)
    starts = [entry.evidence.start_s for entry in record.entries()]
    assert len(starts) >= 60
    assert max(starts) < 0.5 * 3600
    assert len({round(at) for at in starts}) > 30


@pytest.mark.long
def test_the_review_of_a_job_is_timed_with_all_of_its_rows() -> None:
    found = measure(entries=60, hours=0.02, runs=1)
    assert found["rows"] == found["entries"] >= 60
    assert found["page_kb"] > 60
    for figure in ("page_ms", "clip_at_the_end_ms", "peaks_at_the_end_ms"):
        assert 0 < found[figure]["median"] <= found[figure]["p95"], figure
