"""Always in sight: whether the walk may begin, and if not, everything that is in its way."""

from __future__ import annotations

from collections.abc import Mapping

from textual.content import Content
from textual.widgets import Static

from fieldtui.ui.shown import shown

_LINES = 4  # of what blocks, below the heading


class BriefState(Static):
    """``BLOCKED`` with its causes, or ``READY`` with what was overridden."""

    def __init__(self) -> None:
        super().__init__(id="brief-state", markup=False)

    def show(self, stops: Mapping[str, str], overrides: Mapping[str, str]) -> None:
        """Say how the brief stands."""
        self.set_class(bool(stops), "-blocked")
        self.update(_blocked(stops) if stops else _ready(overrides))


def _blocked(stops: Mapping[str, str]) -> Content:
    heading = Content.styled(f"✗ BLOCKED by {len(stops)}: the walk cannot begin", "bold")
    alike: dict[str, list[str]] = {}  # what is wrong in the same way stands on one line
    for name, why in stops.items():
        alike.setdefault(why, []).append(name)
    lines = [shown(f"  {', '.join(names)}: {why}") for why, names in alike.items()]
    if len(lines) > _LINES:
        lines = [*lines[: _LINES - 1], Content(f"  and {len(lines) - _LINES + 1} more; F5 goes to the first")]
    return Content("\n").join([heading, *lines])


def _ready(overrides: Mapping[str, str]) -> Content:
    lines = [Content.styled("✓ READY: Enter on BEGIN THE WALK, the last line, or F5", "bold")]
    lines += [shown(f"  OVERRIDDEN {item}: {reason}") for item, reason in overrides.items()]
    return Content("\n").join(lines)
