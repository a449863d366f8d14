"""What follows from a survey: doubt, papers due, paths, the basis of verdicts, what is to settle."""
