"""Where every point stands while events are being applied.

Most readings complete a take of their own at a point that wants no more than one. Those are kept in
hand and worked into the point's standing when somebody asks for it, all at once.
"""

from __future__ import annotations

from fieldtui.core.survey.layers import Changes, Layers
from fieldtui.core.survey.standing import Record, Standing, stand_after


class Standings(Changes[str, Standing]):
    """Standings by point id. What is read is worked out; ``own`` is so only once it is frozen."""

    __slots__ = ("in_hand",)

    def __init__(self, under: Layers[str, Standing]) -> None:
        super().__init__(under)
        self.in_hand: dict[str, list[Record]] = {}  # readings not worked in yet, each a complete take

    def __getitem__(self, point: str) -> Standing:
        if self.in_hand:
            readings = self.in_hand.pop(point, None)
            if readings is not None:
                self.own[point] = stand_after(super().__getitem__(point), readings)
        return super().__getitem__(point)

    def together(self) -> dict[str, Standing]:
        self._work_in()
        return super().together()

    def frozen(self) -> Layers[str, Standing]:
        self._work_in()
        return super().frozen()

    def _work_in(self) -> None:
        for point, readings in self.in_hand.items():
            self.own[point] = stand_after(super().__getitem__(point), readings)
        self.in_hand = {}
