"""What ``make bench`` measures; no part of the installed program."""
