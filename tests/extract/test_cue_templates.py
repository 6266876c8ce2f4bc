"""What the cue templates spell out stays few enough to be learnt while somebody waits at the bench."""

from __future__ import annotations

from extract.cues import load_cues, spelled_out
from shared.data_files import read_data
from tests.extract.bench_jobs import ROOT

TEMPLATES = [one for ones in read_data(ROOT / "extract" / "cues.yaml").values() for one in ones if "{" in one]

#: One template of many braces once gave 37,000 phrases, and each bench began to listen five seconds later.
MOST_OF_ONE, MOST = 2_000, 40_000


def test_no_template_and_no_list_grows_without_bound() -> None:
    phrases = [phrase for forms in load_cues().values() for phrase in forms]
    assert len(phrases) <= MOST
    longest = max(TEMPLATES, key=lambda one: sum(1 for _ in spelled_out(one)))
    assert sum(1 for _ in spelled_out(longest)) <= MOST_OF_ONE, longest


def test_a_template_is_spelled_out_choice_by_choice() -> None:
    assert sorted(spelled_out("{i |}{read|saw} it")) == ["i read it", "i saw it", "read it", "saw it"]
