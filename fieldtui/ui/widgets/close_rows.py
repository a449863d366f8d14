"""The close-out as lines: a heading for each group, under it what is to do and what is done."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from textual.content import Content

from fieldtui.core.account.closing import Group, Item
from fieldtui.ui.phrases import Mark
from fieldtui.ui.shown import shown

TO_DO = Mark("○", "to do", "bold $text-warning")
DONE = Mark("✓", "done", "$text-success")
OUT_OF_REACH = Mark("#", "not measured", "$text-warning")

_NOTHING = {
    Group.POINTS: "none",
    Group.FAILED: "none",
    Group.PATHS: "none fails or lacks a value",
    Group.RESTORE: "nothing is left opened",
    Group.METER: "this meter has no check standard",
    Group.DOUBT: "none",
    Group.MEMORY: "no memory was used",
}


@dataclass(frozen=True, slots=True)
class CloseRow:
    """One line; a heading has no item."""

    content: Content
    item: Item | None = None


def rows_of(items: Sequence[Item], lasting: Callable[[datetime], timedelta]) -> list[CloseRow]:
    """Every group with its lines; ``lasting`` says how long ago a time was."""
    rows: list[CloseRow] = []
    for group in Group:
        inside = [item for item in items if item.group is group]
        rows.append(CloseRow(_heading(group, inside)))
        rows += [CloseRow(_line(item, lasting), item) for item in inside]
    return rows


def _heading(group: Group, items: Sequence[Item]) -> Content:
    title = Content.styled(f" {group.value.upper()}  ", "bold")
    left = sum(not item.is_done for item in items)
    if left:
        return title + TO_DO.as_content(left)
    if group is Group.POINTS and items:
        return title + OUT_OF_REACH.as_content(len(items))
    return (
        title
        + Content.styled("✓ " if items or group is not Group.METER else "", DONE.style)
        + Content(DONE.word if items else _NOTHING.get(group, ""))
    )


def _line(item: Item, lasting: Callable[[datetime], timedelta]) -> Content:
    done = OUT_OF_REACH if item.group is Group.POINTS else DONE
    mark = done if item.is_done else TO_DO
    parts = [Content.styled(mark.shape, mark.style), Content(" ")]
    if item.point:
        parts += [shown(f"{item.point:<8} ", "bold")]
    if item.since is not None:
        parts += [Content(f"{duration_words(lasting(item.since)):>10}  ")]
    return Content("").join([*parts, shown(item.what)])


def duration_words(gap: timedelta) -> str:
    """``under 1 min``, ``42 min``, ``1 h 20 min``."""
    hours, minutes = divmod(max(0, int(gap.total_seconds())) // 60, 60)
    if hours:
        return f"{hours} h {minutes:02d} min"
    return f"{minutes} min" if minutes else "under 1 min"
