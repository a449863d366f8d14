"""The entries of the two lists, and how often things go wrong between them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from types import MappingProxyType

from fieldtui.core.measurement.ohms import Resistance
from fieldtui.core.pairing.recursion import Steps
from fieldtui.core.slips import Slip


@dataclass(frozen=True, slots=True)
class RecordEntry:
    """A reading on the record; ``run`` and ``number`` where the record has them, right or wrong.

    ``called`` is set where the meter's number was read out at this very reading, not counted up, and
    ``filed`` where the meter showed ``number`` as that of its last entry right after it;
    ``void`` where the reading was struck out; ``erased`` where its entry was deleted on the meter.
    ``resolution`` is one step of the meter's display, ohm; None where it is not known. ``shown`` is the
    reading filled up to the digits of the display, where it was keyed with fewer.
    """

    record: int
    reading: Resistance
    number: int | None = None
    run: int | None = None
    called: bool = False
    filed: bool = False
    void: bool = False
    erased: bool = False
    resolution: Decimal | None = None
    shown: Resistance | None = None


@dataclass(frozen=True, slots=True)
class MemoryEntry:
    """An entry of the meter's memory list; ``reading`` is None where the list shows no value.

    ``line`` is where it stands in the file it was read from, if any.
    """

    run: int | None
    number: int | None
    reading: Resistance | None
    erased: bool = False
    line: int | None = field(default=None, compare=False)


# Digit slips 60-95 % single, 10-20 % swapped, 10-20 % omitted or added (Verhoeff 1969).
# The shares of point, unit and repetition: no source.
SHARES: Mapping[Slip, float] = MappingProxyType(
    {
        Slip.REPLACED: 0.56,
        Slip.SWAPPED: 0.12,
        Slip.OMITTED: 0.08,
        Slip.ADDED: 0.08,
        Slip.POINT_MOVED: 0.06,
        Slip.UNIT_WRONG: 0.04,
        Slip.REPEATED: 0.04,
    }
)


@dataclass(frozen=True, slots=True)
class Rates:
    """How often things go wrong, each as a share of readings unless said otherwise."""

    # Value on record not the instrument's: between the 0.29 % of single entries keyed wrong (Garza et
    # al. 2025) and the 3.7 % of values that differ from a handheld instrument's (Mays and Mathias 2019).
    keyed_wrong: float = 0.02
    shares: Mapping[Slip, float] = field(default_factory=lambda: SHARES)  # of what was keyed wrong
    unexplained: float = 0.01  # of what was keyed wrong: no slip known; no source
    not_stored: float = 0.01  # no source
    stored_more: float = 0.01  # memory entries nobody called out; no source
    copied: float = 0.3  # of those: the entry before, stored twice; no source
    taken_again: float = 0.5  # of those: a point beside taken again; no source
    again_within: float = 0.2  # spread of a point taken again, log units; no source
    one_more: float = 0.1  # after one entry in one list only, that the next is too; no source
    block: float = 0.0002  # a long row in one list only begins; no source
    block_length: float = 200.0  # its mean length, readings; no source
    number_misheard: float = 0.035  # a number called out, or said to agree (Barenfanger 2004)
    run_off: float = 0.01  # a record's run is wrong; no source
    # A list that shows states: share of entries shown as erased, by what the record says; no source.
    erased_alone: float = 0.2  # nobody called the entry out
    erased_kept: float = 0.0005  # its reading stands: deleted without a word
    erased_void: float = 0.2  # its reading was struck out
    erased_said: float = 0.97  # the record says that it was deleted on the meter
    erased_gone: float = 0.5  # the same in a list without states: it is not in the list at all


def steps_of(rates: Rates) -> Steps[float]:
    """The rates as weights between the states of the model."""
    record, memory, on, block = rates.not_stored, rates.stored_more, rates.one_more, rates.block
    leave = 1.0 / rates.block_length
    return Steps(
        pair_pair=1.0 - record - memory - 2.0 * block,
        pair_record=record,
        pair_memory=memory,
        pair_block=block,
        record_pair=1.0 - on - memory,
        record_record=on,
        record_memory=memory,
        memory_pair=1.0 - on - record,
        memory_memory=on,
        memory_record=record,
        block_pair=leave / 2.0,
        block_block=1.0 - leave,
        block_turn=leave / 2.0,
    )
