"""What would become of the readings: record, old point, new point, and verdicts that change."""

from __future__ import annotations

from collections.abc import Iterator

from textual.content import Content
from textual.reactive import reactive
from textual.widget import Widget

from fieldtui.core.survey.position import State
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey
from fieldtui.ui.phrases import VERDICTS
from fieldtui.ui.shown import shown

_BEFORE = 2  # readings shown before the first that moves


class DriftPreview(Widget):
    """The survey as it is beside the survey as it would be, from ``first`` on."""

    first: reactive[int] = reactive(1)
    after: reactive[Survey | None] = reactive(None, always_update=True)

    def __init__(self, survey: Survey) -> None:
        super().__init__()
        self._survey = survey

    def render(self) -> Content:
        width, height = max(1, self.size.width), max(3, self.size.height)
        records = list(self._survey.records.values())
        shown_from = max(0, next(at for at, r in enumerate(records) if r.record >= self.first) - _BEFORE)
        room = height - 1
        rows = [self._row(record) for record in records[shown_from:]]
        if len(rows) > room:
            rows = [*rows[: room - 1], Content(f"        … and {len(rows) - room + 1} more")]
        lines = [*rows, shown(f" {self.summary()}", "bold")]
        return Content("\n").join(line.truncate(width, ellipsis=True) for line in lines)

    def summary(self) -> str:
        """How many verdicts change, which points come open, and where the walk would go on."""
        if self.after is None:
            return "This cannot be done."
        changed = sum(self.after.records[n].verdict is not r.verdict for n, r in self._survey.records.items())
        opened = [
            point
            for point in self.after.order.ids
            if self.after.standings[point].state is State.OPEN
            and self._survey.standings[point].state is not State.OPEN
        ]
        words = ["no verdict changes" if not changed else f"VERDICTS THAT CHANGE: {changed}"]
        if other := list(self.other_states()):
            words.append(f"{', '.join(other[:2])}{' …' if len(other) > 2 else ''}")
        if opened:
            words.append(f"open again: {', '.join(opened[:5])}{' …' if len(opened) > 5 else ''}")
        here = self.after.here
        words.append(f"the walk goes on at {here.id}" if here is not None else "no point is left")
        return ". ".join(words) + "."

    def other_states(self) -> Iterator[str]:
        """Points that have been read and would stand otherwise afterwards, those that come open aside."""
        after = self.after
        if after is None:
            return
        for point in after.order.ids:
            was, now = self._survey.standings[point].state, after.standings[point].state
            if was is not now and State.OPEN not in (was, now):
                yield f"{point} {was.value} → {now.value}"

    def _row(self, record: Record) -> Content:
        now = self.after.records[record.record] if self.after is not None else record
        moves = now.point != record.point
        mark = "▶" if record.record == self.first else " "
        parts = [
            Content(f"{mark}{record.record:>5} "),
            shown(f"{record.reading!s:>12}", "" if record.is_valid else "strike"),
            Content("  "),
            shown(record.point).truncate(12, ellipsis=True, pad=True),
        ]
        if moves:
            parts += [Content(" → "), shown(now.point, "bold").truncate(12, ellipsis=True, pad=True)]
        else:
            parts.append(Content(" stays".ljust(15)))
        parts += [Content("  "), _verdict(record)]
        if now.verdict is not record.verdict:
            parts += [Content(" → "), _verdict(now), Content.styled("  changes", "bold")]
        return Content("").join(parts)


def _verdict(record: Record) -> Content:
    return VERDICTS[record.verdict].as_content() if record.is_valid else Content("VOID")
