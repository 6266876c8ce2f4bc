"""Work that may be done by any worker on any machine: ordered, taken, done once."""
