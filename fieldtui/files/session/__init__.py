"""A session folder: its facts, its lock, its snapshots, a glance at it, its second copy."""
