"""What all benches need, read once: for the process that their ears are forked from, and no other.

Of what hears only the model of everyday English is among it, 33 MB: the runtime of the network that tells
speech from silence starts threads, and none of them would be there in a process that is forked. All modules
are: importing one touches what is shared, and what is touched is shared no longer.
"""

from __future__ import annotations

import gc

import api.live.early_process  # noqa: F401 - with all that an ear is
from capture.engines.language_models import everyday_language
from capture.engines.sphinx_decoder import LANGUAGE_WEIGHT, WORD_PENALTY
from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet, shipped_sheet_ids
from shared.speech import Utterance

for _sheet_id in shipped_sheet_ids()[:1]:
    # A first utterance loads what is loaded at need: lexicon, names of parts, recogniser.
    RecordBuilder(load_job_sheet(_sheet_id)).hear(Utterance("vane one eighteen thou", 0.0, 1.0))
everyday_language(LANGUAGE_WEIGHT, WORD_PENALTY)
# What is never collected again is not written to, and stays shared.
gc.collect()
gc.freeze()
