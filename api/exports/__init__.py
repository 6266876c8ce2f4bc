"""A record in the forms that other programs take."""
