"""What reconciling found, in words for a person and as JSON for a program."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from fieldtui.core.pairing.alignment import Alone, Finding, Option, Pair, Pairing, Undecided
from fieldtui.core.survey.survey import Survey
from fieldtui.core.text import counted
from fieldtui.desk.reconciling import Covered, count_findings, early_end, missing_ends

_DECIMALS = 5  # of a percentage, at most


@dataclass(frozen=True, slots=True)
class Told:
    """A comparison with what is to be said of its list and of the session."""

    pairing: Pairing
    notes: tuple[str, ...] = ()
    held_back: frozenset[int] = field(default=frozenset())  # records the list ends before


def tell(survey: Survey, pairing: Pairing, covered: Covered) -> Told:
    """The comparison with its notes, the gravest first."""
    ends = missing_ends(survey, pairing)
    held_back = frozenset(record for records in ends.values() for record in records)
    return Told(pairing, tuple(_notes(survey, pairing, covered)), held_back)


def _notes(survey: Survey, pairing: Pairing, covered: Covered) -> Iterator[str]:
    if early := early_end(survey, pairing):
        yield early
    yield from order_notes(pairing)
    if covered.label is not None:
        yield f"the list says run {covered.label}; that is taken to mean run {_runs(covered)}"
    for run in covered.left_out:
        yield f"memory run {run} was not compared: the list is not of it"
    if pairing.not_compared:
        yield not_compared_words(pairing)
    whole = pairing.mismatch_of_whole
    if whole is not None:
        yield f"{whole.finding.value} ({whole.count} entries)"


def _runs(covered: Covered) -> str:
    return ", ".join(map(str, sorted(covered.runs or ())))


def order_notes(pairing: Pairing) -> Iterator[str]:
    """What is to be said of lines that do not stand in the order in which the meter filed them."""
    for run in pairing.by_number:
        yield f"{_list_of(run)} is not in the order of its numbers; it was compared in that order"
    for run in pairing.disordered:
        yield (
            f"{_list_of(run)} has numbers that go up and down, other than on record: what hangs on them is "
            "left undecided. Put its lines in the order of the memory, and check the numbers"
        )


def _list_of(run: int | None) -> str:
    return "the list" if run is None else f"the list of run {run}"


def not_compared_words(pairing: Pairing) -> str:
    """Which records were not compared, for the list has no voltages."""
    records = pairing.not_compared
    which = ", ".join(map(str, records[:6])) + (f" and {len(records) - 6} more" if len(records) > 6 else "")
    return f"record{'' if len(records) == 1 else 's'} {which} not compared: voltages, and the list has none"


def format_findings(told: Told) -> Iterator[str]:
    """What was found, as lines for a person: what is not as it should be, then the count."""
    pairing = told.pairing
    for note in told.notes:
        yield f"NOTE: {note}"
    for pair in pairing.pairs:
        if pair.finding is Finding.KEYED_DIFFERENTLY:
            slip = f", {pair.slip.value}" if pair.slip is not None else ""
            found = f"the memory has {pair.likely} at {pair.number}{slip}"
            yield f"record {pair.record}: keyed differently; {found}"
    for alone in pairing.record_only:
        held_back = "; the list ends before it" if alone.record in told.held_back else ""
        yield f"record {alone.record}: not in the memory{held_back}"
    for alone in pairing.memory_only:
        yield f"memory number {alone.number}: not on the record"
    for each in pairing.undecided:
        name = f"record {each.record}" if each.record is not None else f"memory number {each.number}"
        options = "; ".join(_option_words(option) for option in each.options[:3])
        yield f"{name}: undecided ({options})"
    yield count_findings(pairing)


def format_outcome(applied: int, settled: Sequence[int], unsettled: Mapping[int, str]) -> Iterator[str]:
    """What taking over did, as lines for a person; ``unsettled`` by run, with the reason."""
    if applied:
        yield f"{counted(applied, 'amendment')} appended; every first form stays on record"
    for run in settled:
        yield f"memory run {run} counts as reconciled"
    for run, why in unsettled.items():
        yield f"NOTE: memory run {run} does not count as reconciled: {why}"


def chance_words(probability: float) -> str:
    """``62 %``, ``99.97 %``: never 0 or 100, for what is not certain must not look so."""
    for places in range(_DECIMALS):
        words = f"{100 * probability:.{places}f}"
        if 0 < float(words) < 100:
            return f"{words} %"
    least = 10.0**-_DECIMALS
    return f">{100 - least:.{_DECIMALS}f} %" if probability > 0.5 else f"<{least:.{_DECIMALS}f} %"


def _option_words(option: Option) -> str:
    chance = chance_words(option.probability)
    if option.finding in (Finding.RECORD_ONLY, Finding.MEMORY_ONLY):
        return f"{chance} stands alone"
    return f"{chance} record {option.record} is number {option.number}"


def as_json(
    told: Told, applied: int, settled: Sequence[int], unsettled: Mapping[int, str], left_out: Sequence[int]
) -> dict[str, object]:
    """The findings as the ``reconcile`` command answers them; ``left_out`` are runs not compared."""
    pairing = told.pairing
    whole = pairing.mismatch_of_whole
    return {
        "notes": list(told.notes),
        "pairs": [_pair_json(pair) for pair in pairing.pairs],
        "memory_only": [_alone_json(alone) for alone in pairing.memory_only],
        "record_only": [_alone_json(alone) for alone in pairing.record_only],
        "undecided": [_undecided_json(each) for each in pairing.undecided],
        "not_compared": list(pairing.not_compared),
        "list_ends_before": sorted(told.held_back),
        "mismatch": None
        if whole is None
        else {"finding": whole.finding.value, "count": whole.count, "shift": whole.shift},
        "runs_not_compared": list(left_out),
        "runs_reconciled": list(settled),
        "runs_not_reconciled": [{"run": run, "why": why} for run, why in unsettled.items()],
        "applied": applied,
    }


def _pair_json(pair: Pair) -> dict[str, object]:
    return {
        "record": pair.record,
        "run": pair.run,
        "number": pair.number,
        "probability": pair.probability,
        "finding": pair.finding.value,
        "likely": pair.likely.cells[0],
        "unit": pair.likely.cells[1],
        "slip": pair.slip.value if pair.slip is not None else None,
    }


def _alone_json(alone: Alone) -> dict[str, object]:
    return {
        "record": alone.record,
        "run": alone.run,
        "number": alone.number,
        "finding": alone.finding.value,
        "probability": alone.probability,
    }


def _undecided_json(undecided: Undecided) -> dict[str, object]:
    return {
        "record": undecided.record,
        "run": undecided.run,
        "number": undecided.number,
        "options": [
            {
                "record": option.record,
                "run": option.run,
                "number": option.number,
                "finding": option.finding.value,
                "probability": option.probability,
                "likely": option.likely.cells[0] if option.likely is not None else None,
            }
            for option in undecided.options
        ],
    }
