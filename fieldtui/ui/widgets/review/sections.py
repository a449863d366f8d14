"""The page of sections: how far each is done, the paths in series, and how quickly it went."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from textual.app import ComposeResult
from textual.containers import VerticalScroll
from textual.content import Content
from textual.widgets import Static

from fieldtui.core.account.paths import PathResult, judge_paths
from fieldtui.desk.reading import ReadSession, unproven_points
from fieldtui.report.basis_words import probability_words, two_figures
from fieldtui.report.rhythm import has_times, pace_of, pace_words
from fieldtui.report.sections import SectionCount, count_sections, state_words
from fieldtui.ui.phrases import DOUBT, UNPROVEN, VERDICTS, doubtful
from fieldtui.ui.shown import shown

_BAR = 10  # cells
_NAME = 24  # cells of a title before the bar: all of it in a line of 60


class TextPage(VerticalScroll):
    """A page that is only read; it is written when it is first shown."""

    def __init__(self, name: str, write: Callable[[], Content]) -> None:
        super().__init__(id=f"review-{name}")
        self._write = write
        self._is_written = False

    def compose(self) -> ComposeResult:
        yield Static(markup=False)

    def show(self) -> None:
        """Write the page, once."""
        if not self._is_written:
            self._is_written = True
            self.query_one(Static).update(self._write())


def sections_page(session: ReadSession) -> Content:
    """Completeness a section, then paths, then pace."""
    survey = session.survey
    unproven = unproven_points(session)
    sections = count_sections(survey, unproven)
    blocks = [_block("Sections", [_section(section) for section in sections] or [Content("none")])]
    paths = [
        line
        for result in judge_paths(survey)
        for line in _path(result, is_unproven=not unproven.isdisjoint(result.path.points))
    ]
    blocks.append(_block("Paths of points in series", paths or [Content("the route has none")]))
    pace = pace_of(session.events) if has_times(session.facts) else None
    words = pace_words(pace) if pace is not None else "its times are not those of the measurement, or too few"
    return Content("\n\n").join([*blocks, _block("Pace", [shown(words)])])


def _block(title: str, lines: Sequence[Content]) -> Content:
    return Content("\n").join([Content.styled(title, "bold underline"), *lines])


def section_mark(section: SectionCount) -> str:
    """The shape of a section: what shakes it before what it lacks."""
    if section.unproven:
        return UNPROVEN.shape
    if section.doubted:
        return DOUBT.shape
    return "✓" if section.is_complete else "○"


def _section(section: SectionCount) -> Content:
    """A bar, then the same in words."""
    done = round(section.settled / section.points * _BAR)
    if not section.is_complete:
        done = min(done, _BAR - 1)  # a full bar is a promise
    mark = section_mark(section)
    name = shown(f"{section.id} {section.title}".strip() or "no section", "bold")
    # A title that is longer than its column has a line of its own, whole.
    name = name.pad_right(_NAME - name.cell_length) if name.cell_length <= _NAME else name + Content("\n   ")
    return (
        Content(f"{mark} ")
        + name
        + Content(f" {'█' * done}{'░' * (_BAR - done)}  {section.settled} of {section.points} settled\n")
        + Content(f"    {state_words(section)}")
    )


def _path(result: PathResult, *, is_unproven: bool) -> Iterator[Content]:
    path = result.path
    mark = Content("○ open")
    if result.verdict is not None:
        mark = doubtful(
            VERDICTS[result.verdict], is_in_doubt=result.is_in_doubt, is_unproven=is_unproven
        ).as_content()
    parts = [shown(path.id, "bold"), *([shown(path.title)] if path.title else []), mark]
    if result.value is None:
        parts.append(shown(f"no value at {', '.join(result.missing)}"))
    else:
        parts.append(shown(f"sum {result.value}", "bold"))
        if result.expanded is not None:
            parts.append(shown(f"U {two_figures(result.expanded, result.value.unit)}"))
        if result.probability is not None:
            parts.append(Content(f"conforms with {probability_words(result.probability)}"))
    yield Content("  ").join([*parts, shown(f"limit {path.limit}")])
    yield shown(f"    {' + '.join(path.points)}")
