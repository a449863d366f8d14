"""Routes on disk: read, checked, imported, written."""
