"""What is doubtful on a paper sheet: values, memory numbers, and number checks that differ."""

from __future__ import annotations

from collections.abc import Iterator, Mapping

from fieldtui.core.doubts import find_doubts
from fieldtui.core.drift.expectations import Expectation
from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.plan.route import Point
from fieldtui.core.survey.survey import Survey
from fieldtui.desk.explaining import explain_numbers
from fieldtui.desk.transcribed import SheetAlarm, Suspect
from fieldtui.desk.watching import Lookout, Readings
from fieldtui.files.sheet import SheetLine


def number_doubt(survey: Survey, line: SheetLine) -> str:
    """Why the memory number of a reading wants a second look, empty where it does not."""
    run, expected = survey.run, survey.next_number
    called = f"memory number {line.memory}" if line.memory is not None else "no memory number"
    if run is not None and expected is None:
        return f"{called}, but the memory is full"
    if run is None or line.memory in (None, expected):
        return ""
    return f"{called}, {expected} expected"


def value_suspects(
    survey: Survey, expected: Mapping[str, Expectation], record: int, point: Point, reading: Resistance
) -> Iterator[Suspect]:
    """What is doubtful about a value; ``expected`` is what each point should read."""
    for doubt in find_doubts(survey, reading, expected.get(point.id), point=point.id, expected=expected):
        likely = f"{doubt.likely.digits} {doubt.likely.unit.value}" if doubt.likely is not None else ""
        yield Suspect(record, doubt.what, likely)


def called_alarm(survey: Survey, called: int) -> SheetAlarm | None:
    """What a number check that differs probably means."""
    explanations = explain_numbers(survey, called)
    run = survey.run
    if not explanations or run is None:
        return None
    likeliest, last = explanations[0], survey.next_record - 1
    return SheetAlarm(
        record=last,
        shift=called - (run.next_number - 1),
        probability=likeliest.probability,
        began_at=likeliest.changes[0].moves_from or last,
        cause=likeliest.kind.value,
    )


def watched_alarms(survey: Survey, history: Readings) -> Iterator[SheetAlarm]:
    """What the drift watch says of the values."""
    for alarm in Lookout.over(survey, history).watch.alarms:
        if alarm.shift != 0:
            yield SheetAlarm(alarm.record, alarm.shift, alarm.probability, alarm.began_at, alarm.cause)
