"""The archive: what all records say, filed to be searched, counted and compared."""
