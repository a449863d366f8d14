"""What is not as planned, first things first."""
