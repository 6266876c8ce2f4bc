"""Pages and doors that a browser on the shop's network uses."""
