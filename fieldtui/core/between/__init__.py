"""Between surveys: history, comparison, coverage, trend, and the statistics they need."""
