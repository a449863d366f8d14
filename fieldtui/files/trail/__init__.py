"""The trail on disk: rows, links, the long and the short way to read it, the writer."""
