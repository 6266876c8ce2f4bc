"""The bench while work is done: sound in, entries and questions out."""
