"""The history of pumps: their rebuilds, what was found, how it changes, how long they last."""
