"""Thousands of sessions at once: published SQL over their plain files, run by DuckDB where it is there.

The queries stand beside this module as .sql files and are plain enough for any engine that has window
functions; only the two that load files, and the function sha256, are DuckDB's. No text and no path from
outside ever becomes part of a query: they are handed over as parameters.
"""
