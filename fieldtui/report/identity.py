"""Who, on what, with which meter, and how far it can be trusted: the head of every report."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from datetime import UTC, date, datetime

from fieldtui.core.account.bracket import points_in_doubt
from fieldtui.core.account.closing import holding_signature, signature_words
from fieldtui.core.account.completeness import completeness
from fieldtui.core.account.paths import PathResult, describe_path, judge_paths
from fieldtui.core.plan.tables import Instrument
from fieldtui.core.survey.crew import Handover
from fieldtui.core.survey.meters import is_unnamed, meter_words
from fieldtui.core.survey.position import State
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.core.trail.events import Answer, Role
from fieldtui.desk.reading import ReadSession, unproven_points
from fieldtui.desk.transcribed import has_no_times
from fieldtui.report.basis_words import probability_words
from fieldtui.report.told import accuracy_words
from fieldtui.report.unproven import chain_words, unproven_readings

Line = tuple[str, str]  # label and text

_NOT_GIVEN = "not given"


def describe_identity(session: ReadSession) -> list[Line]:
    """The session, its route and its crew."""
    facts = session.facts
    route = facts.route
    revision = f", revision {route.revision}" if route.revision else ""
    lines = [
        ("session", facts.id),
        ("route", f"{route.title} ({route.name}{revision})"),
        ("asset", route.asset or _NOT_GIVEN),
        ("job", facts.job or _NOT_GIVEN),
        ("prober", facts.crew.prober or _NOT_GIVEN),
        ("recorder", facts.crew.recorder or _NOT_GIVEN),
        ("started", _started(session)),
        ("last row", format_minute(session.survey.last_time) if session.survey.last_time else "none"),
        ("state", describe_state(session.survey)),
        ("program", facts.program),
    ]
    lines[6:6] = [("handover", _handover(each)) for each in session.survey.handovers]
    if facts.part:
        left = counted(len(facts.elsewhere), "point")
        lines.append(("part", f"sections {', '.join(facts.part)}; {left} left to another session"))
    if facts.practice:
        lines.append(("practice", "an invented survey for practice, no measurement of anything"))
    if facts.transcribed_from:
        lines.append(("keyed from", facts.transcribed_from))
    if facts.follows:
        lines.append(("carries on", facts.follows))
    return lines


def _started(session: ReadSession) -> str:
    started = format_minute(session.facts.started)
    is_of_keying = bool(session.facts.transcribed_from) and has_no_times(session.events)
    return f"{started}, of the keying: the sheet has no times" if is_of_keying else started


def _handover(handover: Handover) -> str:
    crew, since = handover.crew, f"from record {handover.record} on"
    return f"{since} {crew.recorder} records, {crew.prober} probes: {handover.reason}"


def describe_meter(session: ReadSession) -> list[Line]:
    """The meter as it stood when the session began, those that took over, the answers of the brief."""
    facts, survey = session.facts, session.survey
    meter = facts.instrument
    lines = [
        ("meter", meter_words(meter)),
        ("calibration", describe_calibration(meter, facts.started.date())),
        ("accuracy", _accuracy(meter)),
        ("memory", _memory(meter, survey)),
    ]
    if facts.ambient_c is not None:
        lines.append(("ambient", f"{facts.ambient_c} °C"))
    if facts.conductor_c is not None:
        lines.append(("conductor", f"{facts.conductor_c} °C"))
    if facts.route.wants_temperature:
        known = f"20 °C where the route asks for it, from {facts.route.celsius} °C"
        lacking = "NO TEMPERATURE TAKEN: as measured, though the route asks for 20 °C"
        lines.append(("judged at", known if facts.route.celsius is not None else lacking))
    return [*lines, *_later_meters(session), *describe_brief(survey)]


def _later_meters(session: ReadSession) -> Iterator[Line]:
    """Each meter that took over in the middle, with what is known of it."""
    for meter in session.survey.meters[1:]:
        first = next((r.record for r in session.survey.records.values() if r.row > meter.row), None)
        since = f"from record {first} on" if first is not None else "no reading taken with it"
        yield "meter", f"{meter_words(meter.instrument)}, {since}: {meter.reason}"
        day = session.events[meter.row - 1].time.date()
        yield "calibration", describe_calibration(meter.instrument, day)
        yield "accuracy", _accuracy(meter.instrument)


def _accuracy(meter: Instrument) -> str:
    return accuracy_words(meter.accuracy) if meter.accuracy is not None else "NOT STATED"


def describe_brief(survey: Survey) -> list[Line]:
    """Each item of the brief as it was answered."""
    lines = []
    for item, answer in survey.brief.items():
        text = {Answer.GOOD: "good", Answer.BAD: "NOT GOOD", Answer.OVERRIDE: "OVERRIDDEN"}[answer.verdict]
        if answer.reading is not None:
            text += f", read {answer.reading}"
        if answer.note:
            text += f": {answer.note}"
        if answer.reason:
            text += f"; went on because: {answer.reason}"
        lines.append((item, text))
    return lines


def describe_calibration(meter: Instrument, day: date) -> str:
    """The calibration on the day in words: ``due 2027-01-31`` or ``LAPSED on 2026-01-31``."""
    due = meter.calibration_due
    if due is None:
        return "NO DATE KNOWN"
    return f"LAPSED on {due.isoformat()}" if due < day else f"due {due.isoformat()}"


def describe_trust(session: ReadSession) -> list[Line]:
    """The trail's chain, its rows and the seal to hold against the signed job card.

    Of a trail that is not whole there is no seal to be copied.
    """
    lines = [("chain", chain_words(session))]
    if session.is_whole:
        lines += [("rows", str(session.rows)), ("seal", session.seal)]
    return lines


def describe_state(survey: Survey) -> str:
    """``closed``, ``not closed``, and how often it was opened again after a close."""
    times = len(survey.ending.reopenings)
    again = f", reopened {counted(times, 'time')}" if times else ""
    return ("closed" if survey.closed else "not closed") + again


def describe_signatures(survey: Survey) -> list[Line]:
    """Who signed in each role, or that nobody did, or that the record was changed afterwards."""
    return [(role.value, _signed(survey, role)) for role in Role]


def _signed(survey: Survey, role: Role) -> str:
    last = survey.ending.signature(role)
    if last is None:
        return "not signed"
    words = f"{signature_words(last)}, signed {format_minute(last.event.time)} in row {last.row}"
    if holding_signature(survey, role) is None:
        return f"{words}; the record was CHANGED since and is not covered"
    return f"{words}: {last.event.note}" if last.event.note else words


def describe_counts(session: ReadSession) -> list[Line]:
    """How complete it is, points by state and how many in doubt or unproven, readings, paths in series."""
    survey, unproven = session.survey, unproven_points(session)
    void = sum(not record.is_valid for record in survey.records.values())
    lines = [("points", f"{survey.settled} of {len(survey.points)} settled; {completeness(survey)}")]
    doubted = Counter(survey.standings[point].state for point in points_in_doubt(survey))
    not_proven = Counter(survey.standings[point].state for point in unproven)
    for state in State:
        doubt = f", {doubted[state]} of them IN DOUBT for the meter" if doubted[state] else ""
        proof = f", {not_proven[state]} of them UNPROVEN" if not_proven[state] else ""
        lines.append((state.value, f"{survey.counts[state]}{doubt}{proof}"))
    lines.append(("readings", f"{len(survey.records)}, {void} of them void{unproven_readings(session)}"))
    for result in judge_paths(survey):
        proof = "" if unproven.isdisjoint(result.path.points) else ", UNPROVEN"
        lines.append((f"path {result.path.id}", f"{_path(result)}{proof}"))
    return lines


def _path(result: PathResult) -> str:
    probability = result.probability
    how_likely = f"; conforms with {probability_words(probability)}" if probability is not None else ""
    return describe_path(result) + how_likely


def format_minute(time: datetime) -> str:
    """``2026-05-04 08:30 UTC``."""
    return time.astimezone(UTC).strftime("%Y-%m-%d %H:%M UTC")


def _memory(meter: Instrument, survey: Survey) -> str:
    runs = counted(len(survey.runs), "memory run")
    if meter.memory_size:
        return f"holds {counted(meter.memory_size, 'reading')}; {runs}"
    if is_unnamed(meter):
        return f"size not known, since no meter is named; {runs} on the sheet"
    return f"the meter keeps none, but the record has {runs}" if survey.runs else "the meter keeps none"
