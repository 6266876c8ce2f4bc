"""What all benches need, read once: for the process that their ears are forked from, and no other.

Nothing that hears is among it: the runtime of the network that tells speech from silence starts threads, and
none of them would be there in a process that is forked.
"""

from __future__ import annotations

import gc

import api.live.board  # noqa: F401 - with all that shows entries
from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet, shipped_sheet_ids
from shared.speech import Utterance

for _sheet_id in shipped_sheet_ids()[:1]:
    # A first utterance loads what is loaded at need: lexicon, names of parts, recogniser.
    RecordBuilder(load_job_sheet(_sheet_id)).hear(Utterance("vane one eighteen thou", 0.0, 1.0))
# What is never collected again is not written to, and stays shared.
gc.collect()
gc.freeze()
