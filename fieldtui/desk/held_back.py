"""What a comparison found certain and is still the crew's to say, with the reason in words.

A reading that the list lacks was not kept, or the list lost its line: the likeness of the values, which
is all that pairing goes by, cannot tell one from the other. Where something else speaks for a lost line
nobody but the crew says which it was, with a look at the meter. Nor is taken over what hangs on the order
of the list where that is in doubt, and a value that no record can hold.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections import Counter
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import takewhile

from fieldtui.core.measurement.ohms import NotAResistanceError, parse_number
from fieldtui.core.pairing.alignment import CERTAIN, Alone, Finding, Pair, Pairing, Undecided
from fieldtui.core.slips import ticks
from fieldtui.core.survey.survey import Survey

_LOOK = "look at the meter whether it is there"
LIST_ENDS_BEFORE = "the list ends before it"


@dataclass(frozen=True, slots=True)
class HeldBack:
    """By what it is held back for.

    ``ends``: by memory run the readings that the list ends before. The others are by record, with the reason:
    ``readings`` that may have been kept all the same, ``numbers`` and ``values`` that stay as they are;
    ``twice`` are those among the numbers that stand on two lines of the list.
    """

    ends: Mapping[int, Sequence[int]] = field(default_factory=dict)
    readings: Mapping[int, str] = field(default_factory=dict)
    numbers: Mapping[int, str] = field(default_factory=dict)
    values: Mapping[int, str] = field(default_factory=dict)
    twice: frozenset[int] = frozenset()

    @property
    def of_ends(self) -> frozenset[int]:
        """The records that the list ends before."""
        return frozenset(record for records in self.ends.values() for record in records)

    def why_alone(self, record: int) -> str:
        """Why nobody but the crew says that a reading was not kept; empty where the list may say it."""
        return self.readings.get(record) or (LIST_ENDS_BEFORE if record in self.of_ends else "")

    @property
    def alone(self) -> frozenset[int]:
        """The records of which nobody but the crew says that they were not kept."""
        return self.of_ends | frozenset(self.readings)


def held_back(survey: Survey, pairing: Pairing) -> HeldBack:
    """What of a comparison is not taken over for being certain."""
    if pairing.is_strange:
        return HeldBack()  # nothing of it is taken over
    ends = missing_ends(survey, pairing)
    crossed = list(_crossed(survey, pairing))
    readings = dict(_in_gaps(survey, pairing))
    readings |= {record: why for record, why in _read_out(survey, pairing) if record not in readings}
    for record, entry, _ in crossed:
        name = "an entry without a number" if entry.number is None else f"number {entry.number}"
        readings.setdefault(
            record,
            f"{name} shows the very same value and is on no record: look at their order on the meter",
        )
    hanging = {
        pair.record: f"it hangs on where record {record} belongs"
        for record, _, pairs in crossed
        for pair in pairs
    }
    twice = dict(_twice(survey, pairing))
    values = {pair.record: why for pair in pairing.pairs if (why := _unholdable(pair))}
    return HeldBack(ends, readings, {**hanging, **twice}, values, frozenset(twice))


def missing_ends(survey: Survey, pairing: Pairing) -> dict[int, list[int]]:
    """By memory run the readings at its end that the list lacks, be it the last one alone.

    So looks a list that was keyed or copied in part, or ended a line too early. By it those readings were not
    kept, and every later one would get a number of another. Readings that the crew has decided on have no
    number any more.
    """
    if pairing.is_strange:
        return {}
    certain = {each.record for each in pairing.record_only}
    likely = {each.record for each in pairing.undecided if _is_likely_alone(each)}
    found = {}
    for run, records in compared_by_run(survey, pairing).items():
        missing = list(takewhile(lambda each: each in certain or each in likely, reversed(records)))
        left = [each for each in reversed(missing) if survey.records[each].number is not None]
        if len(missing) < len(records) and certain.intersection(left):
            found[run] = left
    return found


def _is_likely_alone(each: Undecided) -> bool:
    return bool(each.options) and each.options[0].finding is Finding.RECORD_ONLY


def compared_by_run(survey: Survey, pairing: Pairing) -> dict[int, list[int]]:
    """The readings that were compared, by the memory run the record has for them, in the order taken.

    Without those whose entry was deleted on the meter.
    """
    compared = unpaired(pairing) | {pair.record for pair in pairing.pairs}
    found: dict[int, list[int]] = {}
    for record in sorted(compared):
        run = survey.records[record].run
        if run is not None and not survey.records[record].is_erased:
            found.setdefault(run, []).append(record)
    return found


def unpaired(pairing: Pairing) -> set[int]:
    """The records that are not surely paired with an entry."""
    alone = {each.record for each in pairing.record_only} | {each.record for each in pairing.undecided}
    return {record for record in alone if record is not None}


def early_end(survey: Survey, pairing: Pairing) -> str:
    """That readings at the end of a memory run are not in its list, in words; else empty."""
    ends = [
        f"record{'' if len(records) == 1 else 's'} {_span(records)}, the last of memory run {run}"
        for run, records in sorted(missing_ends(survey, pairing).items())
    ]
    return f"the list ends before {' and '.join(ends)}: is it whole?" if ends else ""


def _span(numbers: Sequence[int]) -> str:
    return str(numbers[0]) if len(numbers) == 1 else f"{numbers[0]} to {numbers[-1]}"


# --- a line that the list may have lost ---------------------------------------------------


def _sure(survey: Survey, pairing: Pairing) -> dict[int, Alone]:
    """The readings that the list certainly lacks and that have a number to lose, by record."""
    return {
        each.record: each
        for each in pairing.record_only
        if each.record is not None
        and each.probability >= CERTAIN
        and survey.records[each.record].number is not None
        and not survey.records[each.record].is_erased
    }


def _in_gaps(survey: Survey, pairing: Pairing) -> Iterator[tuple[int, str]]:
    """The readings that the list lacks where its own numbers leave one out, with which one.

    A meter numbers what it keeps one after the other. A reading that it did not keep leaves no number out,
    but the line of one that it kept, lost in copying, does.
    """
    sure = _sure(survey, pairing)
    if not sure:
        return
    by_record = {pair.record: pair for pair in pairing.pairs}
    for run, records in _in_order(survey, pairing).items():
        numbers = _numbers_of(pairing, run)
        for before, stretch, behind in _stretches(records, by_record):
            ours = [n for record in stretch if (n := survey.records[record].number) is not None]
            end = behind.number if behind is not None else None
            begin = before.number if before is not None else min(ours, default=1) - 1
            if begin is None or end is None or end <= begin:
                continue  # at the end of a list nothing shows; see missing_ends
            # The number of an entry that was deleted on the meter, and may be left out of the list for it.
            known = sum(survey.records[record].is_erased for record in stretch)
            listed = bisect_left(numbers, end) - bisect_right(numbers, begin)
            if end - begin - 1 - listed <= known:
                continue
            for record in stretch:
                if record in sure:
                    yield record, _gap_words(survey.records[record].number or 0, begin, end, numbers)


def _in_order(survey: Survey, pairing: Pairing) -> dict[int, list[int]]:
    """The readings that were compared by memory run, also those whose entry was deleted on the meter.

    Without those that are an entry of another run: their numbers are not of this one.
    """
    found: dict[int, list[int]] = {}
    paired = {p.record for p in pairing.pairs if p.run in (None, survey.records[p.record].run)}
    for record in sorted(unpaired(pairing) | paired):
        run = survey.records[record].run
        if run is not None:
            found.setdefault(run, []).append(record)
    return found


def _numbers_of(pairing: Pairing, run: int) -> list[int]:
    """The numbers that the list has for a run, ascending, each once."""
    entries: list[Pair | Alone | Undecided] = [*pairing.pairs, *_unpaired_entries(pairing)]
    return sorted({e.number for e in entries if e.number is not None and e.run in (None, run)})


def _unpaired_entries(pairing: Pairing) -> list[Alone | Undecided]:
    return [*pairing.memory_only, *(each for each in pairing.undecided if each.entry is not None)]


def _stretches(
    records: Sequence[int], by_record: Mapping[int, Pair]
) -> Iterator[tuple[Pair | None, list[int], Pair | None]]:
    """Readings in a row without a sure entry, between the pairs before and behind them."""
    before: Pair | None = None
    stretch: list[int] = []
    for record in records:
        pair = by_record.get(record)
        if pair is None:
            stretch.append(record)
            continue
        if stretch:
            yield before, stretch, pair
        before, stretch = pair, []
    if stretch:
        yield before, stretch, None


def _gap_words(own: int, begin: int, end: int, numbers: Sequence[int]) -> str:
    """Which number the list leaves out: the reading's own where that is one, else all of them."""
    if begin < own < end and not _has(numbers, own):
        return f"the list leaves out number {own}: {_LOOK}"
    first = next(number for number in range(begin + 1, end) if not _has(numbers, number))
    last = next(number for number in range(end - 1, begin, -1) if not _has(numbers, number))
    if first == last:
        return f"the list leaves out number {first}: {_LOOK}"
    return f"the list leaves out numbers between {begin} and {end}: {_LOOK.replace('it is', 'they are')}"


def _has(numbers: Sequence[int], number: int) -> bool:
    at = bisect_left(numbers, number)
    return at < len(numbers) and numbers[at] == number


def _read_out(survey: Survey, pairing: Pairing) -> Iterator[tuple[int, str]]:
    """The readings that the list lacks and the meter showed as its last entry right after them."""
    for record in _sure(survey, pairing):
        number = survey.records[record].number
        if survey.called_out.get(record) == number:
            yield record, f"number {number} was read out right after it and agreed: {_LOOK}"


# --- an order in doubt --------------------------------------------------------------------


def _crossed(survey: Survey, pairing: Pairing) -> Iterator[tuple[int, Alone | Undecided, list[Pair]]]:
    """Readings that the list lacks with an entry elsewhere in it that shows the same, and what lies between.

    Pairing keeps the order of both lists. Where a reading and its entry stand in different places, it finds
    each alone, and the numbers of those between moved.
    """
    entries = _unpaired_entries(pairing)
    shown = [(entry, ticks(entry.shown)) for entry in entries if entry.shown is not None]
    for record, alone in _sure(survey, pairing).items():
        value = ticks(survey.records[record].reading)
        for entry, theirs in shown:
            if entry.run in (None, alone.run) and value.is_same(theirs):
                yield record, entry, [pair for pair in pairing.pairs if _lies_between(pair, record, entry)]


def _twice(survey: Survey, pairing: Pairing) -> Iterator[tuple[int, str]]:
    """Readings that the list would give a number which stands on another of its lines as well.

    No meter files two readings under one number: one of the two lines is wrong.
    """
    entries: list[Pair | Alone | Undecided] = [*pairing.pairs, *_unpaired_entries(pairing)]
    found: Counter[tuple[int | None, int | None]] = Counter((entry.run, entry.number) for entry in entries)
    for pair in pairing.pairs:
        is_other = pair.number is not None and survey.records[pair.record].number != pair.number
        if is_other and found[pair.run, pair.number] > 1:
            yield pair.record, f"number {pair.number} stands on two lines of the list: look at the meter"


def _lies_between(pair: Pair, record: int, entry: Alone | Undecided) -> bool:
    if pair.number is None or entry.number is None or pair.run != entry.run:
        return False
    return (pair.record < record) != (pair.number < entry.number)


# --- a value that cannot be put on record -------------------------------------------------


def _unholdable(pair: Pair) -> str:
    """Why the value that a pair brings cannot be put on record; empty where it can."""
    if pair.finding is not Finding.KEYED_DIFFERENTLY:
        return ""
    figure, _ = pair.likely.cells
    try:
        parse_number(figure.removeprefix("-"))
    except NotAResistanceError as error:
        return f"{error}. Look at the unit of that line"
    return ""


def undecided_on(survey: Survey, held: HeldBack, decided: Collection[int] = ()) -> dict[int, list[int]]:
    """By memory run the records that are held back and that the crew has not decided on."""
    found: dict[int, list[int]] = {}
    for record in sorted((held.alone | set(held.values) | held.twice) - set(decided)):
        run = survey.records[record].run
        if run is not None:
            found.setdefault(run, []).append(record)
    return found
