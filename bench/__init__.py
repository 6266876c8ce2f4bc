"""What ``make bench`` measures; no part of the installed program."""

import shared.one_thread  # noqa: F401 - before numpy: what is measured runs as it does in a shop
