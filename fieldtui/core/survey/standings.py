"""Where every point stands while events are being applied.

Most readings complete a take of their own at a point that wants no more than one. Those are kept in
hand and worked into the point's standing when somebody asks for it, all at once.
"""

from __future__ import annotations

from collections.abc import Mapping

from fieldtui.core.plan.route import Point
from fieldtui.core.survey.judged import SingleVerdicts
from fieldtui.core.survey.layers import Changes, Layers
from fieldtui.core.survey.standing import Record, Standing, stand_after


class InHand:
    """Readings of one point, each a complete take, that are not worked into its standing yet."""

    __slots__ = ("numbers", "point", "retest", "state", "take", "verdicts")

    def __init__(self, point: Point, standing: Standing, verdicts: SingleVerdicts) -> None:
        self.point = point
        self.verdicts = verdicts
        self.retest = standing.retest
        self.take = standing.take  # the one that the next reading is
        self.state = standing.state  # the point's, after the last reading
        self.numbers: list[int] = []  # of the records


class Standings(Changes[str, Standing]):
    """Standings by point id. What is read is worked out; ``own`` is so only once it is frozen."""

    __slots__ = ("_records", "in_hand")

    def __init__(self, under: Layers[str, Standing], records: Mapping[int, Record]) -> None:
        """``records`` are those of the same survey, as they are changed."""
        super().__init__(under)
        self._records = records
        self.in_hand: dict[str, InHand] = {}

    def __getitem__(self, point: str) -> Standing:
        if self.in_hand:
            held = self.in_hand.pop(point, None)
            if held is not None:
                self._work_in(held)
        return super().__getitem__(point)

    def together(self) -> dict[str, Standing]:
        self.work_in()
        return super().together()

    def frozen(self) -> Layers[str, Standing]:
        self.work_in()
        return super().frozen()

    def work_in(self) -> None:
        """Leave nothing in hand."""
        for held in self.in_hand.values():
            self._work_in(held)
        self.in_hand.clear()

    def _work_in(self, held: InHand) -> None:
        if held.numbers:
            standing = super().__getitem__(held.point.id)
            first, last = (self._records[held.numbers[place]] for place in (0, -1))
            self.own[held.point.id] = stand_after(standing, held.numbers, first, last)
