"""Published limits, each with its own comparator: documents mix "less than" and "at most"."""

from __future__ import annotations

from decimal import Decimal
from pathlib import Path

import pytest

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.plan.route import Comparator, CriterionStatus
from fieldtui.core.plan.tables import Criterion
from fieldtui.core.verdict.judging import Verdict, judge_ohms
from fieldtui.files.tables.tables import load_tables

QUOTED, SECOND_HAND, UNVERIFIED = (
    CriterionStatus.QUOTED,
    CriterionStatus.SECOND_HAND,
    CriterionStatus.UNVERIFIED,
)

# id, figure, unit, comparator, source and clause, how sure we are of it
PUBLISHED = [
    ("equipment-frame", "2.5", "mohm", "<", "FAA AC 43.13-1B", "11-188f", QUOTED),
    ("jumper-connection", "0.003", "ohm", "<=", "FAA AC 43.13-1B", "11-189", QUOTED),
    ("static-bond", "1", "ohm", "<", "FAA AC 43.13-1B", "11-187c", QUOTED),
    ("facility-bond", "1", "mohm", "<=", "MIL-HDBK-419A Vol II", "1.13.4", QUOTED),
    ("earth-path", "5", "mohm", "<=", "MIL-HDBK-419A Vol II", "1.13.3", QUOTED),
    ("vehicle-chassis", "0.1", "ohm", "<", "UN Regulation No. 100", "5.1.2.2", QUOTED),
    ("protective-bond", "0.1", "ohm", "<=", "IEC 60950-1", "2.6.3.4 (clause number unverified)", QUOTED),
    ("ground-plane", "2.5", "mohm", "<=", "CISPR 25, older edition", "", QUOTED),
    ("parking-static", "10", "kohm", "<", "MIL-HDBK-274A", "", SECOND_HAND),
    ("parking-power", "25", "ohm", "<", "MIL-HDBK-274A", "", SECOND_HAND),
    ("static-metal-path", "10", "ohm", "<=", "NFPA 77", "", SECOND_HAND),
    ("static-earth", "1", "Mohm", "<=", "NFPA 77", "", SECOND_HAND),
    # values from memory
    ("enclosure", "10", "mohm", "<=", "MIL-STD-464", "464A 5.10.3, 464C and 464D 5.11.3", UNVERIFIED),
    ("cable-shield", "15", "mohm", "<=", "MIL-STD-464", "464A 5.10.3, 464C and 464D 5.11.3", UNVERIFIED),
    ("faying-surface", "2.5", "mohm", "<=", "MIL-STD-464", "464A 5.10.3, 464C and 464D 5.11.3", UNVERIFIED),
    ("class-r", "2.5", "mohm", "<=", "MIL-B-5087B", "", UNVERIFIED),
    ("class-h", "0.1", "ohm", "<=", "MIL-B-5087B", "", UNVERIFIED),
    ("class-s", "1", "ohm", "<=", "MIL-B-5087B", "", UNVERIFIED),
]


def shared(name: str) -> bytes:
    return (Path(__file__).parents[2] / "shared" / name).read_bytes()


@pytest.fixture(scope="module")
def criteria() -> dict[str, Criterion]:
    return dict(load_tables(shared).criteria)


def verdict(criterion: Criterion, keyed: str, unit: Unit = Unit.MOHM) -> Verdict:
    return judge_ohms(criterion.limit, parse_resistance(keyed, unit).ohms)


def test_the_shared_table_holds_these_and_no_others(criteria: dict[str, Criterion]) -> None:
    assert set(criteria) == {row[0] for row in PUBLISHED}


@pytest.mark.parametrize("row", PUBLISHED, ids=[row[0] for row in PUBLISHED])
def test_the_shared_table_states_each_as_published(
    row: tuple[str, str, str, str, str, str, CriterionStatus], criteria: dict[str, Criterion]
) -> None:
    name, figure, unit, comparator, source, clause, status = row
    found = criteria[name]
    assert found.limit.maximum is not None
    assert found.limit.minimum is None
    assert (found.limit.maximum.digits, found.limit.maximum.unit.value) == (figure, unit)
    assert found.limit.upper is Comparator(comparator)
    assert (found.limit.source, found.clause, found.limit.status) == (source, clause, status)
    assert found.limit.criterion == name


@pytest.mark.parametrize("row", PUBLISHED, ids=[row[0] for row in PUBLISHED])
def test_a_reading_just_on_the_limit(
    row: tuple[str, str, str, str, str, str, CriterionStatus], criteria: dict[str, Criterion]
) -> None:
    name, figure, unit, comparator, *_ = row
    step = Decimal(figure) / 1000
    limit = criteria[name]
    on = verdict(limit, figure, Unit(unit))
    assert on is (Verdict.PASS if comparator == "<=" else Verdict.FAIL)
    assert verdict(limit, f"{Decimal(figure) - step:f}", Unit(unit)) is Verdict.PASS
    assert verdict(limit, f"{Decimal(figure) + step:f}", Unit(unit)) is Verdict.FAIL


def test_one_reading_fails_one_document_and_passes_another(criteria: dict[str, Criterion]) -> None:
    """2.500 mohm: not less than 2.5 (FAA AC 43.13-1B 11-188f), at most 2.5 (CISPR 25, older edition)."""
    assert verdict(criteria["equipment-frame"], "2.500") is Verdict.FAIL
    assert verdict(criteria["ground-plane"], "2.500") is Verdict.PASS


def test_the_unit_of_the_reading_does_not_change_the_verdict(criteria: dict[str, Criterion]) -> None:
    """0.003 ohm is 3 mohm and 3000 microhm exactly (FAA AC 43.13-1B 11-189)."""
    limit = criteria["jumper-connection"]
    assert [verdict(limit, keyed) for keyed in ("3.000", "3000u", "0.003r", "3L0")] == [Verdict.PASS] * 4
    assert [verdict(limit, keyed) for keyed in ("3.001", "3001u", "0.003001r")] == [Verdict.FAIL] * 3


def test_four_joints_of_two_and_a_half_make_ten(criteria: dict[str, Criterion]) -> None:
    """4 x 2.5 = 10.0 mohm passes a 10 mohm path exactly, as no binary float sum need do (computed)."""
    path = sum((parse_resistance("2.5", Unit.MOHM).ohms for _ in range(4)), Decimal(0))
    assert path == Decimal("0.0100")
    assert judge_ohms(criteria["enclosure"].limit, path) is Verdict.PASS
