"""How the walk goes on: skip, redo, jump, reverse, insert, pause, note, waive."""

from __future__ import annotations

from dataclasses import replace

from fieldtui.core.plan.conductors import metal_of
from fieldtui.core.plan.inserted import NotADefinitionError, format_definition, like, parse_limit
from fieldtui.core.plan.route import RECORD_ONLY, Point
from fieldtui.core.survey.position import State
from fieldtui.core.trail import events as ev
from fieldtui.desk.log import Log
from fieldtui.errors import BadInputError, WrongUseError


class Walking(Log):
    """The order in which points are taken."""

    def skip(self, reason: str, note: str = "") -> None:
        """Leave the point for later."""
        self.append(
            ev.Skipped(
                **self.stamp(),
                point=self._here().id,
                reason=self._reason(reason),
                note=self._text(note),
            )
        )

    def redo(self, reason: str, record: int | None = None) -> None:
        """Take the point of ``record`` (the last reading, if none is named) again, then come back."""
        if record is None:
            record = len(self.survey.records)
            if not record:
                raise WrongUseError("No reading has been taken yet", remedy="take the point's first reading")
        found = self._record(record)
        self.append(ev.RedoAsked(**self.stamp(), point=found.point, ref=record, reason=self._reason(reason)))

    def jump(self, point: str, reason: str = "") -> None:
        """Go to another point and afterwards back to where the walk was."""
        self._want_point(point)
        standing = self.survey.standings[point]
        if standing.as_left is not None and not standing.asked_again:
            what = f"Point {point} has a reading that counts"
            raise WrongUseError(what, remedy="take it again, with a reason")
        self.append(ev.Jumped(**self.stamp(), point=point, reason=self._text(reason)))

    def reverse(self, reason: str = "") -> None:
        """Walk the rest of the section from its far end."""
        self.append(ev.SectionReversed(**self.stamp(), point=self._here().id, reason=self._text(reason)))

    def insert(self, title: str, limit: str, reason: str, *, a: str = "", b: str = "") -> str:
        """Insert an unplanned point and go to it; returns its id. It is judged as :func:`like` says.

        ``limit`` is text such as ``<= 2.5 mohm``, a plain figure in the unit of the point being
        probed, or ``record only``.
        """
        here = self.survey.here
        unit = here.unit if here is not None else self.session.route.unit
        section = here.section if here is not None else self.session.route.points[-1].section
        try:
            parsed = parse_limit(limit, unit)
        except NotADefinitionError as error:
            raise BadInputError(str(error), remedy="key the limit again") from error
        title = self._text(title)
        if not title:
            raise BadInputError("An unplanned point wants a title", remedy="say what is measured")
        plain = Point(id="", section=section, title=title, unit=unit, limit=RECORD_ONLY)
        judged = like(here if here is not None else plain, parsed, self.session.route.rule)
        point = replace(
            plain,
            id=self._free_id(),
            limit=judged.limit,
            retest=judged.retest,
            repeats=judged.repeats,
            rule=judged.rule,
            method=judged.method,
            current_ma=judged.current_ma,
            correct_to_20=judged.correct_to_20,
            metal=metal_of(judged) if judged.correct_to_20 else "copper",
            a=self._text(a),
            b=self._text(b),
            unplanned=True,
        )
        self.append(
            ev.PointInserted(
                **self.stamp(),
                point=point.id,
                ref=here.id if here is not None else "",
                reason=self._reason(reason),
                definition=format_definition(point),
            )
        )
        return point.id

    def pause(self, reason: str = "") -> None:
        """The crew stops for a while."""
        self.append(ev.Paused(**self.stamp(), reason=self._text(reason)))

    def proceed(self) -> None:
        """The crew goes on."""
        self.append(ev.Proceeded(**self.stamp()))

    def note(self, text: str) -> None:
        """A remark on the point being probed."""
        here = self.survey.here
        text = self._text(text)
        if not text:
            raise BadInputError("The note is empty", remedy="key some words, or leave with Escape")
        self.append(ev.Noted(**self.stamp(), point=here.id if here is not None else "", note=text))

    def unsettled(self) -> list[Point]:
        """Points still open or skipped."""
        return self.survey.in_state(State.OPEN, State.SKIPPED)

    def _free_id(self) -> str:
        ids = (f"X{count:02d}" for count in range(1, len(self.survey.points) + 2))
        return next(point for point in ids if point not in self.survey.points)
