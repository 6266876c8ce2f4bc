"""What makes a record tamper-evident: canonical bytes, a chain of hashes, signatures."""
