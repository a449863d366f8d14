"""The crew's common tables."""
