"""The page of one point as lines of text, with what belongs together under one heading."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from textual.content import Content

from fieldtui.report.identity import Line
from fieldtui.report.point.story import Happening, PointStory
from fieldtui.ui.phrases import STATES, doubtful
from fieldtui.ui.shown import shown

_LABEL = 13  # cells of a label, the blank after it included
_ROW = 6
_CLOCK = 9
_KIND = 12


def story_head(story: PointStory, at: int, count: int, width: int) -> Content:
    """Which point, how it stands, and which of how many; a long title has a line of its own."""
    parts = [
        shown(story.point.id, "bold"),
        doubtful(
            STATES[story.state], is_in_doubt=story.is_in_doubt, is_unproven=story.is_unproven
        ).as_content(),
        Content(f"point {at + 1} of {count}"),
    ]
    title = shown(story.point.title, "bold")
    line = Content("   ").join([parts[0], title, *parts[1:]])
    return line if line.cell_length <= width else Content("   ").join(parts) + Content("\n") + title


def standing_lines(story: PointStory, width: int) -> list[Content]:
    """How the point stands."""
    return list(_block("How it stands", story.stands, width))


def basis_lines(story: PointStory, width: int) -> list[Content]:
    """What its verdict rests on, the paths it is part of, and what was asked."""
    blocks = list(story.rests)
    if story.paths:
        blocks.append(("Paths in series with it", story.paths))
    blocks.append(("What was asked", story.defined))
    return [line for title, lines in blocks for line in _block(title, lines, width)]


def happened_lines(story: PointStory, width: int) -> list[Content]:
    """Every row that touched the point."""
    lines = [_title("What happened, in order (UTC)")]
    if not story.happened:
        lines.append(Content("no row of the trail touched this point"))
    day = ""
    for each in story.happened:
        if each.when[:10] != day:
            day = each.when[:10]
            lines.append(Content(f"{'row':<{_ROW}}{day}"))
        lines += _happening(each, width)
    return [*lines, Content("")]


def earlier_lines(story: PointStory, width: int) -> list[Content]:
    """What earlier surveys left there."""
    before = story.before or (("none", "no survey of this route and asset from before lies here"),)
    return list(_block("Earlier surveys, the latest first", before, width))


def _block(title: str, lines: Sequence[Line], width: int) -> Iterator[Content]:
    yield _title(title)
    for label, text in lines:
        is_loud = label.isupper() and len(label) > 1
        head = shown(label, "bold" if is_loud else "").truncate(_LABEL - 1, ellipsis=True, pad=True)
        yield from _hung(head + Content(" "), shown(text, "bold"), width)
    yield Content("")


def _happening(each: Happening, width: int) -> Iterator[Content]:
    head = Content(f"{each.row:<{_ROW}}{each.when[11:]:<{_CLOCK}}{each.kind:<{_KIND}}")
    yield from _hung(head, shown(each.what, "bold") + shown(f"   {each.by}"), width)
    for label, text in each.told:
        yield from _hung(Content(" " * (_ROW + _CLOCK) + f"{label:<{_KIND}}"), shown(text), width)


def _hung(head: Content, text: Content, width: int) -> Iterator[Content]:
    """A text beside its head, folded under itself."""
    beside = head.cell_length
    wrapped = text.wrap(max(width - beside, 8)) or [Content("")]
    yield head + wrapped[0]
    for line in wrapped[1:]:
        yield Content(" " * beside) + line


def _title(text: str) -> Content:
    return Content.styled(text, "bold underline")
