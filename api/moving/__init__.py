"""A shop moved from one machine's file and folder to PostgreSQL and a media store."""
