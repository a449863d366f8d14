"""What was keyed on the entry line, understood but not yet recorded."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import MappingProxyType

from fieldtui.core.doubts import Doubt, DoubtKind, find_doubts
from fieldtui.core.drift.expectations import Expectation
from fieldtui.core.measurement.ohms import NotAResistanceError, Resistance, Unit, no_value_called
from fieldtui.core.measurement.voltage import UNIT_WORDS, parse_keyed, sign_doubt, speak_reading
from fieldtui.core.plan.route import Point
from fieldtui.core.survey.memory import number_refusal
from fieldtui.core.survey.standing import Record
from fieldtui.core.survey.survey import Survey
from fieldtui.core.trail import events as ev
from fieldtui.core.verdict.judging import Verdict
from fieldtui.errors import BadInputError, MemoryFullError, WrongUseError

__all__ = [
    "NUMBER_MISHEARD",
    "READ_AGAIN",
    "Doubt",
    "DoubtKind",
    "Entry",
    "Keyed",
    "looks_like_value",
    "parse_memory_number",
    "understand",
    "weigh",
    "weigh_reading",
    "weigh_value",
]

# "950 uohm" is one value
_UNIT_WORDS = frozenset([*(unit.value for unit in Unit), *"uµμmLrRkKM", *UNIT_WORDS])
_UNITS_SPELLED = "|".join(sorted(filter(None, _UNIT_WORDS), key=len, reverse=True))
_NUMBERS_ALONE = re.compile(rf"[-+0-9.,\s]*[0-9][-+0-9.,\s]*(?:{_UNITS_SPELLED})?", re.ASCII)
_MAX_NUMBER = 999_999  # no meter's memory counts further
NOTHING_EXPECTED: Mapping[str, Expectation] = MappingProxyType({})


# The one answer to a memory number that does not fit which leaves the numbers as they are.
NUMBER_MISHEARD = "number misheard or misread: the expected one stands"
# The reason of a doubtful value that was read a second time and keyed alike: nobody picks it, it is so.
READ_AGAIN = "read again, the same"


@dataclass(frozen=True, slots=True)
class Entry:
    """A keyed value: what it is, what would be said of it, and what is doubtful about it."""

    text: str
    point: str  # where it was keyed
    record: int  # the running number it was keyed for
    reading: Resistance
    number: int | None  # the memory number keyed with it
    verdict: Verdict
    read_back: str  # the value in words
    doubts: tuple[Doubt, ...]

    def is_same(self, other: Entry) -> bool:
        """Whether the same value in the same unit was keyed, with the same memory number or none."""
        return (self.reading, self.number) == (other.reading, other.number)


@dataclass(frozen=True, slots=True)
class Keyed:
    """What a text says: a value, and the memory number keyed with it."""

    reading: Resistance
    number: int | None = None

    @property
    def read_back(self) -> str:
        """The value in words."""
        return speak_reading(self.reading)


def understand(text: str, survey: Survey) -> Keyed:
    """Understand ``1.38`` or ``17 1.38`` (memory number, value) for the point being probed.

    Raises:
        BadInputError: the text is no value; the reason in words.
        WrongUseError: no point is left.
    """
    if survey.here is None:
        raise WrongUseError(
            "No point is left to take", remedy="redo or jump to a point, or close the session"
        )
    if called := no_value_called(text) or no_value_called(
        text.split(" ")[-1]
    ):  # "0L" would be nought in mohm
        what = f"{text}: {called} is no value, it is a try without one"
        raise BadInputError(what, remedy="Esc or -, then x (keypad: /) says so; nothing was recorded")
    words = text.split()
    number = None
    if len(words) == 2 and words[1] not in _UNIT_WORDS:
        number = parse_memory_number(words[0])
        words = words[1:]
    reading = weigh_reading(" ".join(words), survey.here)
    if number is not None and (why := number_refusal(survey.instrument, number)):
        raise BadInputError(why, remedy="key it again; nothing was recorded")
    return Keyed(reading, number)


def looks_like_value(text: str) -> bool:
    """Whether a text is nothing but numbers and a unit: a value that was called out, keyed where words go."""
    return _NUMBERS_ALONE.fullmatch(text.strip()) is not None


def weigh(text: str, survey: Survey, expected: Mapping[str, Expectation] = NOTHING_EXPECTED) -> Entry:
    """Understand what was keyed (see :func:`understand`) and say what is doubtful about it.

    ``expected`` is what each point should read, by id; without it only the session itself and the
    route's figures raise doubts.

    Raises:
        BadInputError: the text is no value; the reason in words.
        WrongUseError: no point is left.
        MemoryFullError: the reading has to wait for the next memory run.
    """
    keyed = understand(text, survey)
    point = survey.position.here or ""  # there is one, or nothing was understood
    if survey.run is not None and survey.run.is_full:
        raise MemoryFullError(
            f"The meter's memory is full at {survey.run.filed_last}",
            remedy="read the memory out, clear it, and start the next memory run",
        )
    return Entry(
        text=text,
        point=point,
        record=survey.next_record,
        reading=keyed.reading,
        number=keyed.number,
        verdict=survey.would_say(point, keyed.reading),
        read_back=keyed.read_back,
        doubts=(
            *_number_doubts(keyed.number, survey),
            *_sign_doubts(keyed.reading, point, survey),
            *find_doubts(survey, keyed.reading, expected.get(point), expected=expected),
        ),
    )


def weigh_correction(
    record: Record, text: str, survey: Survey, expected: Mapping[str, Expectation] = NOTHING_EXPECTED
) -> Entry:
    """Understand what ``record`` should have said, and say what is doubtful about that, as for a keyed value.

    Raises:
        BadInputError: the text is no value; the reason in words.
    """
    point = survey.points[record.point]
    reading = weigh_reading(text, point)
    number, time, by = record.record, record.time, record.by  # nothing of these is written
    without = survey.after(ev.Voided(time=time, by=by, ref=number, point=point.id, reason="corrected"))
    amended = survey.after(ev.Amended(time=time, by=by, ref=number, reading=reading, reason="corrected"))
    doubts = find_doubts(without, reading, expected.get(point.id), point=point.id, expected=expected)
    return Entry(
        text=text,
        point=point.id,
        record=number,
        reading=reading,
        number=None,
        verdict=amended.records[number].verdict,
        read_back=speak_reading(reading),
        doubts=(
            *_sign_doubts(reading, point.id, without),
            *(
                doubt for doubt in doubts if doubt.kind is not DoubtKind.REPEATED
            ),  # of another reading's order
        ),
    )


def weigh_reading(text: str, point: Point) -> Resistance:
    """A value alone as it is keyed at ``point``: a voltage where the point states the test current.

    Raises:
        BadInputError: the text is no value; the reason in words.
    """
    return weigh_value(text, point.unit, point.current_ma)


def weigh_value(text: str, unit: Unit, current_ma: Decimal | None = None) -> Resistance:
    """A value alone, in ``unit`` unless it says another; a voltage where a test current, mA, is given.

    Raises:
        BadInputError: the text is no value; the reason in words.
    """
    try:
        return parse_keyed(text, unit, current_ma)
    except NotAResistanceError as error:
        raise BadInputError(str(error), remedy="key it again; nothing was recorded") from error


def parse_memory_number(text: str) -> int:
    """A memory number as keyed: digits only.

    Raises:
        BadInputError: the text is no memory number.
    """
    text = text.strip()
    if not (text.isascii() and text.isdigit() and len(text) <= len(str(_MAX_NUMBER))):
        raise BadInputError(f"{text or 'nothing'}: a memory number is digits only", remedy="key it again")
    return int(text)


def _number_doubts(number: int | None, survey: Survey) -> tuple[Doubt, ...]:
    if number is None or number == survey.next_number:
        return ()
    if survey.next_number is None:
        return (Doubt(DoubtKind.NUMBER, f"memory number {number} keyed, but no memory run has begun"),)
    held = [
        record.record
        for record in survey.records.values()
        if survey.run is not None and record.run == survey.run.run and record.number == number
    ]
    already = f"; record {held[-1]} holds {number} already" if held else ""
    what = f"memory number {number} keyed, {survey.next_number} expected{already}"
    return (Doubt(DoubtKind.NUMBER, what),)


def _sign_doubts(reading: Resistance, point: str, survey: Survey) -> tuple[Doubt, ...]:
    """A minus left out would turn a sum into a difference, and so a bad bond into a good one."""
    standing = survey.standings[point]
    taken = [survey.records[number] for number in standing.records]
    before = [each.reading for each in taken if each.is_valid and each.take == standing.take]
    what = sign_doubt(before[-1] if before else None, reading)
    return (Doubt(DoubtKind.SIGN, what),) if what else ()
