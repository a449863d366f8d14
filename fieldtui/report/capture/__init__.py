"""Sheets to walk with on paper."""
