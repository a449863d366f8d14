"""What ``transcribe`` answers: the session a sheet became, and what in it wants a second look."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from fieldtui.core.account.bracket import points_in_doubt, readings_in_doubt
from fieldtui.core.account.paths import describe_path, judge_paths
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.desk.transcribed import Transcribed
from fieldtui.report.findings.meter import find_in_meters
from fieldtui.report.findings.points import unverified_limits


def transcribed_as_json(made: Transcribed) -> dict[str, object]:
    """The answer under ``--json``."""
    survey = made.survey
    return {
        "ok": True,
        "session": str(made.folder),
        "readings": len(survey.records),
        "points": {state.value: count for state, count in survey.counts.items()},
        "alarms": [alarm.as_json() for alarm in made.alarms],
        "suspects": [suspect.as_json() for suspect in made.suspects],
        "paths": {result.path.id: describe_path(result) for result in judge_paths(survey)},
        "unverified": {name: list(points) for name, points in unverified_limits(survey).items()},
        "has_times": made.has_times,
        "times": list(made.times),
        "numbers_counted_on": made.counted_on,
        "lacking": [
            {"kind": each.kind.value, "what": each.what, "where": each.where}
            for each in find_in_meters(survey)
        ],
        "in_doubt": [
            {"record": each.record, "point": each.point, "why": each.why}
            for each in readings_in_doubt(survey)
        ],
    }


def format_transcribed(made: Transcribed) -> Iterator[str]:
    """The answer in lines; texts of the sheet and of the route stand in them as they are."""
    survey = made.survey
    yield f"session  {made.folder}"
    yield f"readings {len(survey.records)}"
    yield f"points   {_points_words(survey)}"
    for note in made.times:
        yield f"times    {note.removeprefix('times: ')}"
    if made.counted_on:
        numbers = counted(made.counted_on, "number")
        yield f"memory   {numbers} counted on from the line above; the sheet has none"
    for result in judge_paths(survey):
        yield f"path     {result.path.id}: {describe_path(result)}"
    for name, points in unverified_limits(survey).items():
        yield f"limit UNVERIFIED: {name} is from memory and judged {counted(len(points), 'point')}"
    for each in find_in_meters(survey):
        where = f" [{each.where}]" if each.where else ""
        yield f"{each.kind.value}: {each.what}{where}"
        yield f"    to do: {each.remedy}"
    yield from _doubt_lines(survey)
    for suspect in made.suspects:
        yield suspect.words
    for alarm in made.alarms:
        yield (
            f"out of step at record {alarm.record}, since record {alarm.began_at}: {alarm.cause} "
            f"({alarm.probability:.0%})"
        )


def _points_words(survey: Survey) -> str:
    """``20 open, 4 passed (3 of them IN DOUBT for the meter)``."""
    doubted = Counter(survey.standings[point].state for point in points_in_doubt(survey))
    told = [
        f"{count} {state.value}"
        + (f" ({doubted[state]} of them IN DOUBT for the meter)" if doubted[state] else "")
        for state, count in survey.counts.items()
        if count
    ]
    return ", ".join(told)


def _doubt_lines(survey: Survey) -> Iterator[str]:
    """Readings that a failed check of the meter reaches, a line for each check."""
    whys: dict[str, list[str]] = {}
    for doubt in readings_in_doubt(survey):
        whys.setdefault(doubt.why, []).append(str(doubt.record))
    for why, records in whys.items():
        yield f"IN DOUBT: record {', '.join(records)}: {why}"
