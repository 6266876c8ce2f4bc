"""What the shop keeps: accounts, jobs, what happened to them, signed revisions."""
