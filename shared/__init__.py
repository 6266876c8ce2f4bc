"""What every room speaks of: errors, units, trade lexicon, job sheet, utterance, photo, record, settings."""
