"""Several sessions put together, as plain text for a person."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from fieldtui.core.between.coverage import Conflict, Covered, Part
from fieldtui.core.between.history import Seen
from fieldtui.core.survey.position import State
from fieldtui.core.text import counted
from fieldtui.desk.comparing import Merged
from fieldtui.report.between.history_lines import (
    describe_source,
    describe_unread,
    indented_lines,
    joined_lines,
    named_lines,
    note_lines,
    part_lines,
    wrapped_lines,
)


def format_coverage(merged: Merged) -> str:
    """Conflicts and points not settled first, then which session settled each point."""
    conflicts = [point for point in merged.points if point.conflicts]
    unsettled = [point for point in merged.points if not point.is_settled]
    names = {source.id: f"S{number}" for number, source in enumerate(merged.sources, 1)}
    lines = [
        line
        for source in merged.sources
        for line in wrapped_lines(describe_source(source), f"{names[source.id]:<6}", "      ")
    ]
    lines += [*note_lines(merged.notes), *part_lines(f"Conflicts: {len(conflicts) or 'none'}")]
    for point in conflicts:
        lines += _conflict(point, names)
    lines += part_lines(f"Not settled: {len(unsettled) or 'none'}")
    for point in unsettled:
        lines += named_lines(point.parts[0].seen, _part_words(point.parts, names))
    if merged.unclaimed:
        lines += part_lines(f"In no session's part: {len(merged.unclaimed)}")
        for point_id, title in merged.unclaimed:
            lines += wrapped_lines(f"{point_id}  {title}", "", "    ")
    settled = [point for point in merged.points if point.is_settled and not point.conflicts]
    lines += part_lines(f"Settled by one session: {len(settled) or 'none'}")
    for point in settled:
        lines += named_lines(point.settled_by[0].seen, _part_words(point.settled_by, names))
    counts = Counter(point.state.value for point in merged.points)
    words = ", ".join(f"{counts[state.value]} {state.value}" for state in State if counts[state.value])
    lines += ["", *wrapped_lines(f"{counted(len(merged.points), 'point')}: {words or 'none'}", "", "")]
    return joined_lines(lines)


def _conflict(point: Covered, names: dict[str, str]) -> Iterator[str]:
    yield from named_lines(point.parts[0].seen, ", ".join(conflict.value for conflict in point.conflicts))
    is_apart = Conflict.PLACES in point.conflicts
    for part in point.parts:
        place = f", {part.seen.a or 'not given'} to {part.seen.b or 'not given'}" if is_apart else ""
        yield from indented_lines(f"{_part_words([part], names)}{place}")


def _part_words(parts: Iterable[Part], names: dict[str, str]) -> str:
    return "; ".join(f"{names[part.session]} {_settled(part.seen)}" for part in parts)


def _settled(seen: Seen) -> str:
    if seen.reading is None:
        return describe_unread(seen)
    doubt = " IN DOUBT" if seen.reading.is_in_doubt else ""
    return f"{seen.state.value} {seen.reading.value}{doubt}"
