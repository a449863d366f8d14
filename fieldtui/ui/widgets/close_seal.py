"""The seal of a closed session, to be copied by hand."""

from __future__ import annotations

from collections.abc import Sequence

from textual.content import Content

from fieldtui.ui.shown import shown

_HALF = 4  # groups a line: as many as an eye can hold


def seal_page(seal: str, rows: int, signed: Sequence[str], left: int) -> Content:
    """The seal in groups of four, the rows, and who signed.

    Args:
        seal: in groups.
        rows: of the trail.
        signed: one line a signature.
        left: things left undone.
    """
    groups = seal.split()
    halves = ["   ".join(groups[:_HALF]), "   ".join(groups[_HALF:])]
    undone = f"{left} left undone: each is on the list of exceptions" if left else "nothing was left undone"
    lines = [
        Content("Copy to the job card, and read both back to each other:"),
        Content(""),
        Content("   seal   ") + shown(halves[0], "bold"),
        Content("          ") + shown(halves[1], "bold"),
        Content(""),
        Content("   rows   ") + shown(rows, "bold"),
        Content(""),
        *(shown(line) for line in signed),
        shown(undone),
        Content(""),
        Content("Only what stands on that paper shows rows cut off later, or a record made anew."),
        Content(""),
        Content.styled(" Enter ", "bold reverse") + Content(" to the review"),
    ]
    return Content("\n").join(lines)
