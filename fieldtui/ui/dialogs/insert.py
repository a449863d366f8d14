"""An unplanned point: what it is, between what, and how it is judged."""

from __future__ import annotations

from collections.abc import Callable

from fieldtui.core.measurement.ohms import Unit
from fieldtui.core.plan.inserted import NotADefinitionError, format_limit, parse_limit
from fieldtui.core.plan.route import Point
from fieldtui.ui.dialogs.form import FormDialog, Question, wanted


class InsertDialog(FormDialog):
    """The limit offered is that of the point being probed."""

    def __init__(self, here: Point | None, unit: Unit) -> None:
        limit = format_limit(here.limit) if here is not None else "record only"
        super().__init__(
            "Insert an unplanned point here",
            [
                Question("what is measured", wanted("a title")),
                Question(
                    "limit, such as <= 2.5 mohm, or: record only", _limit_check(unit), limit, is_value=True
                ),
                Question("A, where the first probe goes"),
                Question("B, where the second probe goes", answer=here.b if here is not None else ""),
            ],
        )


def _limit_check(unit: Unit) -> Callable[[str], str | None]:
    def trouble(text: str) -> str | None:
        try:
            parse_limit(text, unit)
        except NotADefinitionError as error:
            return str(error)
        return None

    return trouble
