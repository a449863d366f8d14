"""One point: its whole story."""
