"""Capture bonding and grounding resistance readings along a planned route."""

__version__ = "0.1.0"
