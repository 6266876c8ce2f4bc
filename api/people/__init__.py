"""The people who are recorded: what they are told, what they agreed to, how long their sound is kept."""
