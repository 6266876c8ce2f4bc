"""TLS in the shop: a certificate authority of its own, and the server's certificate by it."""
