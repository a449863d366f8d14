"""The parts of the review: its sheets, tables, charts, and a point's story."""
