"""How the session went in time: checks of numbers and meter, gaps, and readings too close together."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from statistics import median

from fieldtui.core.plan.session import Session
from fieldtui.core.survey.meters import meter_at
from fieldtui.core.text import counted
from fieldtui.core.trail import events as ev
from fieldtui.desk.reading import ReadSession
from fieldtui.report.findings.finding import Finding, Kind, place
from fieldtui.report.told import cell_text

LONG_GAP = timedelta(minutes=15)  # between two rows without a pause; common practice, no source

# Between two readings with a meter of which no time to settle is known: a second or two of steady contact,
# and the value has then to be called out and keyed (common practice, no source).
CLOSEST = timedelta(seconds=3)


@dataclass(frozen=True, slots=True)
class Beat:
    """One row that says how the session went. ``record`` is the last reading before it, 0 for none."""

    row: int
    event: ev.Event
    what: str
    record: int
    told: str  # what was read or called out
    expected: str = ""
    answer: str = ""
    is_loud: bool = False


@dataclass(frozen=True, slots=True)
class Pace:
    """Times between one reading and the next, pauses left out."""

    readings: int
    median: timedelta
    closest: timedelta
    at: int  # the later record of the closest two


def has_times(facts: Session) -> bool:
    """Whether its times are those of the measurement: not of a practice, nor of keying a paper sheet."""
    return not facts.practice and not facts.transcribed_from


def least_apart(session: ReadSession, row: int) -> timedelta:
    """The least time between two readings with the meter in use in a row."""
    meters = session.survey.meters
    settles = meters[meter_at(meters, row)].instrument.settle_s
    return timedelta(seconds=settles) if settles else CLOSEST


def find_pace(session: ReadSession) -> Iterator[Finding]:
    """Readings closer together than the meter can settle and a person can key."""
    if not has_times(session.facts):
        return
    for row, first, second in _readings(session.events):
        apart = second.time - first.time
        if apart < least_apart(session, row):
            yield Finding(
                Kind.PACE,
                f"{seconds_words(apart)} after record {first.record}: no time to settle, call out and key",
                where=place(point=second.point, record=second.record, row=row),
            )


def pace_of(events: Sequence[ev.Event]) -> Pace | None:
    """How quickly readings followed each other; None with fewer than two."""
    times = [(second.time - first.time, second.record) for _, first, second in _readings(events)]
    if not times:
        return None
    closest, at = min(times)
    middle = timedelta(seconds=median(each.total_seconds() for each, _ in times))
    return Pace(len(times) + 1, middle, closest, at)


def _readings(events: Sequence[ev.Event]) -> Iterator[tuple[int, ev.ReadingTaken, ev.ReadingTaken]]:
    """Each reading with the one before it and its own row; none across a pause or a stop."""
    before: ev.ReadingTaken | None = None
    for row, event in enumerate(events, 1):
        if isinstance(event, ev.ReadingTaken):
            if before is not None:
                yield row, before, event
            before = event
        elif isinstance(event, ev.Paused | ev.Opened | ev.Reopened):
            before = None


def find_beats(session: ReadSession) -> Iterator[Beat]:
    """Every check, memory run, gap and hurried reading, in row order."""
    record, paused, is_timed = 0, False, has_times(session.facts)
    before: ev.Event | None = None
    last: ev.ReadingTaken | None = None
    for row, event in enumerate(session.events, 1):
        gap = event.time - before.time if before is not None else timedelta(0)
        if gap > LONG_GAP and not paused:
            yield Beat(row, event, "gap in time", record, lasting_words(gap), is_loud=True)
        match event:
            case ev.ReadingTaken():
                apart = event.time - last.time if last is not None else None
                if apart is not None and is_timed and apart < least_apart(session, row):
                    told = f"record {event.record} after {seconds_words(apart)}"
                    yield Beat(row, event, "too close", record, told, is_loud=True)
                record, last = event.record, event
            case ev.Paused():
                paused, last = True, None
                yield Beat(row, event, "pause", record, "")
            case ev.Proceeded():
                paused = False
                yield Beat(row, event, "went on", record, lasting_words(gap))
            case _:
                yield from _check(event, row, record)
        before = event


def _check(event: ev.Event, row: int, record: int) -> Iterator[Beat]:
    match event:
        case ev.NumberChecked():
            answer = event.verdict.value
            differs = event.verdict is ev.Agreement.DIFFER
            expected = cell_text(event.ref)
            yield Beat(row, event, "number check", record, str(event.number), expected, answer, differs)
        case ev.StandardRead():
            bad = event.verdict is not ev.Answer.GOOD
            what = f"standard, {event.ref.value}"
            yield Beat(row, event, what, record, str(event.reading), "", event.verdict.value, bad)
        case ev.Briefed() if event.reading is not None:
            bad = event.verdict is not ev.Answer.GOOD
            yield Beat(
                row, event, "standard, brief", record, str(event.reading), "", event.verdict.value, bad
            )
        case ev.RunStarted():
            yield Beat(row, event, "memory run", record, f"run {event.run} from {event.number}")
        case ev.Renumbered():
            told = f"next becomes {event.number}"
            yield Beat(row, event, "numbers moved", record, told, is_loud=True)
        case ev.Reconciled():
            yield Beat(row, event, "reconciled", record, f"run {event.run}, {event.ref}")
        case ev.LeadChanged():
            yield Beat(row, event, "lead changed", record, "")
        case ev.MeterTaken():
            yield Beat(row, event, "another meter", record, event.ref)
        case ev.HandedOver():
            yield Beat(row, event, "handover", record, f"{event.ref} probes")


def pace_words(pace: Pace) -> str:
    """The pace in one sentence."""
    return (
        f"{counted(pace.readings, 'reading')}, {seconds_words(pace.median)} apart in the middle; "
        f"the closest two {seconds_words(pace.closest)}, at record {pace.at}"
    )


def seconds_words(time: timedelta) -> str:
    """``41 s``, or ``2.3 s`` where tenths matter."""
    seconds = time.total_seconds()
    return f"{seconds:.0f} s" if seconds >= 10 or seconds == int(seconds) else f"{seconds:.1f} s"


def lasting_words(gap: timedelta) -> str:
    """``18 min``, ``2 h 05 min``."""
    minutes = int(gap.total_seconds()) // 60
    hours, minutes = divmod(minutes, 60)
    return f"{hours} h {minutes:02d} min" if hours else f"{minutes} min"
