"""Sound and pictures in: decoding, journal, voice activity, vocabulary, speech engines, photos."""

import shared.one_thread  # noqa: F401 - before numpy, which the modules here import
