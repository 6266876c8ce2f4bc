"""Sound and pictures in: decoding, journal, voice activity, vocabulary, speech engines, photos."""
