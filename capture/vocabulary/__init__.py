"""What an engine must know to hear one sheet's rebuild: language model, pronunciations, hotwords.

:func:`compile_vocabulary` is the door. Text goes in through ``text/`` (its README says where each file
comes from), words of the sheet through ``slots.py``.
"""

from capture.vocabulary.compiled import Vocabulary, compile_vocabulary, is_compiled, vocabulary_sha256

__all__ = ["Vocabulary", "compile_vocabulary", "is_compiled", "vocabulary_sha256"]
