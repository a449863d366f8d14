"""What is told to those who are new: the lesson, short hints."""
