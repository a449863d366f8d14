"""The links of a trail's chain by row, from a trail that was scanned before."""

from __future__ import annotations

from fieldtui.core.trail.chain import LENGTH


def trail_links(trail: bytes, rows: int) -> tuple[str, ...]:
    """The link in each of the first ``rows`` rows, which the scan found good: their last cells.

    A spreadsheet may have put quotation marks or carriage returns there; they are passed over.
    """
    lines = trail.split(b"\n", rows + 1)[1 : rows + 1]
    return tuple(line.rstrip(b'\r"')[-LENGTH:].decode("ascii", "replace") for line in lines)
