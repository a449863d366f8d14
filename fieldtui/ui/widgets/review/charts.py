"""The charts of the review: the same data as the report's, in character cells, one chart at a time."""

from __future__ import annotations

from collections.abc import Sequence
from functools import cached_property

from textual import events
from textual.content import Content
from textual.widget import Widget

from fieldtui.core.account.basis import basis_of, share_words
from fieldtui.core.account.bracket import points_in_doubt
from fieldtui.core.between.trend import Sample
from fieldtui.core.survey.standing import Result
from fieldtui.core.survey.survey import Survey
from fieldtui.desk.earlier import samples_of
from fieldtui.desk.reading import ReadSession
from fieldtui.report.basis_words import probability_words
from fieldtui.report.charts.data import Tenth, limit_of, pairs_of, ratio_words, tenths_of
from fieldtui.report.point.story import Stories
from fieldtui.report.unproven import Unproven
from fieldtui.ui.phrases import STATES, VERDICTS, doubtful
from fieldtui.ui.shown import shown
from fieldtui.ui.widgets.review.chart_history import draw_history
from fieldtui.ui.widgets.review.chart_margin import draw_margin
from fieldtui.ui.widgets.review.chart_pairs import Pair, draw_pairs
from fieldtui.ui.widgets.review.chart_route import draw_route

CHARTS = ("value on the route", "% of limit", "margins", "left against right", "history")
_ROUTE, _SHARE, _MARGIN, _PAIRS, _HISTORY = range(len(CHARTS))
_TOLD = 2  # lines below a chart that say what is marked
_MANY = 10  # a page key moves that far


class ReviewCharts(Widget, can_focus=True):
    """Arrows mark a point, a bar or a pair; what is marked is said in words below."""

    def __init__(self, session: ReadSession, stories: Stories) -> None:
        super().__init__(id="review-charts")
        self._session = session
        self._stories = stories
        self._chart = _ROUTE
        self._point = 0  # place in the walking order, marked on the route and in the history
        self._tenth = 0
        self._pair = 0

    # --- data, made when first looked at ---------------------------------------------------

    @property
    def _survey(self) -> Survey:
        return self._session.survey

    @cached_property
    def _tenths(self) -> Sequence[Tenth]:
        return tenths_of(self._survey, self._unproven)

    @cached_property
    def _pairs(self) -> Sequence[Pair]:
        return list(pairs_of(self._survey))

    @cached_property
    def _samples(self) -> dict[str, Sample]:
        return {sample.seen.point: sample for sample in samples_of(self._session)}

    # --- what is marked --------------------------------------------------------------------

    @property
    def chart(self) -> str:
        """The chart on show, in words."""
        return CHARTS[self._chart]

    @property
    def points_on_show(self) -> list[str]:
        """The points that the marked thing stands among, in their order."""
        if self._chart == _PAIRS:
            return [side[0] for pair in self._pairs for side in pair]
        if self._chart == _MARGIN:
            tenth = self._tenths[self._tenth] if self._tenths else None
            return [*tenth.failed, *tenth.passed] if tenth is not None else []
        return list(self._survey.order.ids)

    @property
    def marked_point(self) -> str:
        """The point under the mark: of a bar or a pair the first one."""
        if self._chart == _PAIRS:
            return self._pairs[self._pair][0][0] if self._pairs else ""
        if self._chart == _MARGIN:
            return next(iter(self.points_on_show), "")
        ids = self._survey.order.ids
        return ids[self._point] if ids else ""

    def mark_point(self, point: str) -> None:
        """Mark a point, on the chart that has it."""
        place = self._survey.order.place.get(point)
        if place is not None and self._chart in (_ROUTE, _SHARE, _HISTORY):
            self._point = place
            self.refresh()

    def next_chart(self) -> None:
        """Show the next chart, around the same point where it has points."""
        self._chart = (self._chart + 1) % len(CHARTS)
        self.refresh()

    def on_key(self, event: events.Key) -> None:
        far = 1_000_000_000
        steps = {"left": -1, "up": -1, "right": 1, "down": 1}
        steps |= {"pageup": -_MANY, "pagedown": _MANY, "home": -far, "end": far}
        if event.key not in steps:
            return
        event.stop()
        event.prevent_default()
        by = steps[event.key]
        if self._chart == _PAIRS:
            self._pair = _within(self._pair + by, len(self._pairs))
        elif self._chart == _MARGIN:
            self._tenth = _within(self._tenth + by, len(self._tenths))
        else:
            self._point = _within(self._point + by, len(self._survey.order.ids))
        self.refresh()

    # --- drawing ---------------------------------------------------------------------------

    def render(self) -> Content:
        width, height = self.size.width, max(self.size.height - 1 - _TOLD, 4)
        lines = [line.truncate(max(width, 1), ellipsis=True) for line in self._draw(width, height)]
        lines = [*lines, *[Content("")] * (height - len(lines))][:height]
        told = self._told().wrap(max(width, 1))
        if len(told) > _TOLD:  # what is over stands in the point's story
            rest = Content(" ").join(line.rstrip() for line in told[_TOLD - 1 :])
            told = [*told[: _TOLD - 1], rest.truncate(max(width, 1), ellipsis=True)]
        return Content("\n").join([self._heads(), *lines, *told])

    def _heads(self) -> Content:
        """The charts, the one on show set off."""
        parts = [
            Content.styled(f" {name} ", "bold reverse" if at == self._chart else "")
            for at, name in enumerate(CHARTS)
        ]
        heads = Content("").join([*parts, Content(" 7: next")])
        if heads.cell_length > self.size.width:  # the one on show, and of how many
            heads = parts[self._chart] + Content(f" {self._chart + 1} of {len(CHARTS)}   7: next")
        return heads.truncate(max(self.size.width, 1), ellipsis=True)

    def _draw(self, width: int, height: int) -> list[Content]:
        if self._chart == _MARGIN:
            return draw_margin(self._tenths, self._tenth, width, height)
        if self._chart == _PAIRS:
            return draw_pairs(self._pairs, self._pair, width, height, self._doubted, self._unproven.points)
        if self._chart == _HISTORY:
            point = self.marked_point
            is_unproven = point in self._unproven.points
            return draw_history(self._history(point), width, height, is_unproven=is_unproven)
        is_share = self._chart == _SHARE
        return draw_route(
            self._survey, self._point, width, height, is_share=is_share, unproven=self._unproven
        )

    def _history(self, point: str) -> list[Sample]:
        now = self._samples.get(point)
        return [*self._stories.earlier.of(point), *([now] if now is not None else [])]

    def _told(self) -> Content:
        """What is marked, in words."""
        if self._chart == _MARGIN:
            return self._told_tenth()
        if self._chart == _PAIRS:
            return self._told_pair()
        point = self.marked_point
        return self._told_point(point) if point else Content("")

    def _told_point(self, point_id: str) -> Content:
        survey = self._survey
        point, standing = survey.points[point_id], survey.standings[point_id]
        left = standing.as_left
        state = STATES[standing.state]
        if left is None:  # else the mark stands at the verdict
            state = doubtful(state, is_in_doubt=False, is_unproven=point_id in self._unproven.points)
        parts, title = [shown(point_id, "bold"), state.as_content()], shown(point.title)
        if left is None:
            return self._titled([*parts, shown(f"limit {limit_of(point, standing)}")], title)
        basis = basis_of(point, left, survey.conditions)
        parts.append(shown(left.value, "bold"))
        if basis.judged.is_corrected:
            parts.append(shown(f"judged at 20 °C as {basis.judged.value}"))
        rework = " after rework" if basis.limit is point.retest else ""
        parts += [self._verdict(point_id, left), shown(f"limit {basis.limit}{rework}")]
        if used := share_words(point, left, survey.route.celsius):
            parts.append(Content(f"{used} of it"))
        if basis.probability is not None:
            parts.append(Content(f"conforms with {probability_words(basis.probability)}"))
        found = standing.as_found
        if found is not None and found.records != left.records:
            parts.append(shown(f"as found {found.value}, {found.verdict.value}"))
        return self._titled(parts, title)

    def _titled(self, parts: Sequence[Content], title: Content) -> Content:
        """With the title behind the point's id, or at the end where it would push something else out."""
        told = Content("  ").join([parts[0], title, *parts[1:]])
        has_room = len(told.wrap(max(self.size.width, 1))) <= _TOLD
        return told if has_room else Content("  ").join([*parts, title])

    @cached_property
    def _doubted(self) -> frozenset[str]:
        return points_in_doubt(self._survey)

    @cached_property
    def _unproven(self) -> Unproven:
        return Unproven.of(self._session)

    def _verdict(self, point: str, result: Result) -> Content:
        is_in_doubt, is_unproven = point in self._doubted, point in self._unproven.points
        return doubtful(
            VERDICTS[result.verdict], is_in_doubt=is_in_doubt, is_unproven=is_unproven
        ).as_content()

    def _told_tenth(self) -> Content:
        if not self._tenths:
            return Content("")
        tenth = self._tenths[self._tenth]
        failed = f", {len(tenth.failed)} of them failed" if tenth.failed else ""
        head = Content.styled(f"{tenth.text} of the limit: {tenth.count}{failed}  ", "bold")
        doubt = f"IN DOUBT: {', '.join(tenth.doubted)}  " if tenth.doubted else ""
        doubt += f"UNPROVEN: {', '.join(tenth.unproven)}  " if tenth.unproven else ""
        return head + shown(doubt, "bold") + shown(", ".join((*tenth.failed, *tenth.passed)))

    def _told_pair(self) -> Content:
        if not self._pairs:
            return Content("")
        (one, first), (other, second) = self._pairs[self._pair]
        ratio = ratio_words(first.value.ohms, second.value.ohms)
        titles = (self._survey.points[each].title for each in (one, other))
        return Content("  ").join(
            [
                shown(f"{one} {first.value}", "bold"),
                self._verdict(one, first),
                shown(f"{other} {second.value}", "bold"),
                self._verdict(other, second),
                Content(f"ratio {ratio}"),
                shown(" against ".join(titles)),
            ]
        )


def _within(at: int, count: int) -> int:
    return max(0, min(at, count - 1))
