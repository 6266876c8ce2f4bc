"""Words in, record out: pure, no clock, file or network beyond loading its own data."""
