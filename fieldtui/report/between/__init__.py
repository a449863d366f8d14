"""Between surveys, in words and as JSON."""
