"""The crew's common tables: those that come with the program, and everything wrong with bad ones."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.plan.route import Comparator, CriterionStatus, Limit
from fieldtui.core.plan.tables import Caution, CheckStandard, Instrument
from fieldtui.core.trail.events import NOT_ACCESSIBLE
from fieldtui.errors import BadInputError
from fieldtui.files.tables.tables import FILES, load_tables, missing_files, parse_conductors

SHARED = Path(__file__).parents[2] / "shared"

CRITERION = """
[criteria.frame]
title = "Frame"
max = 2.50
cmp = "<"
unit = "mohm"
source = "A book"
clause = "7"
status = "second-hand"
"""


def from_texts(**texts: str) -> Callable[[str], bytes | None]:
    def read(name: str) -> bytes | None:
        text = texts.get(name.removesuffix(".toml"))
        return None if text is None else ("format = 1\n" + text).encode()

    return read


def shared(name: str) -> bytes | None:
    return (SHARED / name).read_bytes()


def problems_of(**texts: str) -> list[tuple[str, int | None, str, str]]:
    with pytest.raises(BadInputError) as caught:
        load_tables(from_texts(**texts))
    return [(one.file, one.line, one.field, one.what) for one in caught.value.problems]


def test_a_criterion_carries_its_source() -> None:
    criterion = load_tables(from_texts(criteria=CRITERION)).criteria["frame"]
    assert (criterion.id, criterion.title, criterion.clause) == ("frame", "Frame", "7")
    assert criterion.limit == Limit(
        maximum=Resistance(Decimal("2.50"), Unit.MOHM),
        upper=Comparator.LESS,
        criterion="frame",
        source="A book",
        status=CriterionStatus.SECOND_HAND,
    )
    assert criterion.limit.maximum is not None
    assert criterion.limit.maximum.digits == "2.50"


def test_an_instrument_with_all_its_fields() -> None:
    text = """
[instruments.m1]
title = "Meter"
serial = "7"
unit = "ohm"
memory_size = 60
first_number = 0
auto_off_s = 300
calibration_due = 2029-03-31
check_standard = { value = 1.000, tolerance = 0.01, unit = "kohm", title = "lid" }
"""
    standard = CheckStandard(
        Resistance(Decimal("1.000"), Unit.KOHM), Resistance(Decimal("0.01"), Unit.KOHM), "lid"
    )
    assert load_tables(from_texts(instruments=text)).instruments == {
        "m1": Instrument("m1", "Meter", "7", Unit.OHM, 60, 0, date(2029, 3, 31), 300, standard)
    }


def test_reasons_by_kind_without_doubles() -> None:
    reasons = load_tables(from_texts(reasons='[reasons]\nskip = ["a", "b", "a"]\nvoid = []')).reasons
    assert reasons.by_kind == {"skip": ("a", "b")}
    assert reasons.of("void") == ()


def test_cautions_keep_their_order() -> None:
    text = (
        '[[cautions]]\nid = "z"\ntitle = "Z"\ntext = "one"\n[[cautions]]\nid = "a"\ntitle = "A"\ntext = "two"'
    )
    assert load_tables(from_texts(cautions=text)).cautions == (
        Caution("z", "Z", "one"),
        Caution("a", "A", "two"),
    )


def test_a_missing_file_is_an_empty_table_and_a_warning() -> None:
    tables = load_tables(from_texts())
    assert (dict(tables.criteria), dict(tables.instruments), tables.cautions) == ({}, {}, ())
    assert tables.reasons.of("skip") == ()
    warnings = missing_files(from_texts(criteria=CRITERION))
    assert [warning.file for warning in warnings] == ["instruments.toml", "reasons.toml", "cautions.toml"]
    assert {warning.severity for warning in warnings} == {"warning"}


def test_the_problems_of_all_tables_come_at_once() -> None:
    found = problems_of(
        criteria=CRITERION.replace('"<"', '">"').replace("frame]", '"fr ame"]')
        + CRITERION.replace('"<"', '">"')
        + CRITERION.replace("max = 2.50", "").replace("frame", "none").replace('"second-hand"', '"seen"'),
        instruments='[instruments.m1]\ntitle = "M"\nunit = "mohm"\nmemory = 5\ncalibration_due = "soon"\n',
        reasons='[reasons]\nskipp = ["a"]\nvoid = "b"\nredo = [""]\n',
        cautions="[[cautions]\n",
    )
    assert found == [
        ("criteria.toml", 3, 'criteria."fr ame"', '"fr ame" cannot be an id: it has a space'),
        ("criteria.toml", 15, "criteria.frame.cmp", '">" cannot go with max'),
        ("criteria.toml", 28, "criteria.none.status", '"seen" is not a known status'),
        ("instruments.toml", 5, "instruments.m1.memory", 'unknown key "memory"'),
        ("instruments.toml", 6, "instruments.m1.calibration_due", '"soon" is not a date'),
        ("reasons.toml", 3, "reasons.skipp", 'unknown key "skipp"'),
        ("reasons.toml", 4, "reasons.void", '"b" stands where a list is wanted'),
        ("reasons.toml", 5, "reasons.redo[0]", "the text is empty"),
        ("cautions.toml", 2, "", "a table's name without its closing bracket"),
    ]


def test_contradictions_in_a_criterion() -> None:
    text = CRITERION.replace('"<"', '">"') + CRITERION.replace("max = 2.50", "").replace("frame", "none")
    assert problems_of(criteria=text, cautions="cautions = []\nformat2 = 1") == [
        ("criteria.toml", 6, "criteria.frame.cmp", '">" cannot go with max'),
        ("criteria.toml", 12, "criteria.none", "the limit has no figure"),
        ("cautions.toml", 3, "format2", 'unknown key "format2"'),
    ]


def test_a_caution_s_id_is_its_own() -> None:
    text = '[[cautions]]\nid = "a"\ntitle = "A"\ntext = "x"\n'
    assert problems_of(cautions=text + text) == [
        ("cautions.toml", 7, "cautions[1].id", 'caution id "a" is already used in line 3')
    ]


# --- the tables that come with the program ------------------------------------------------


def test_the_shared_tables_are_whole() -> None:
    tables = load_tables(shared)
    assert missing_files(shared) == []
    assert all(criterion.limit.source for criterion in tables.criteria.values())
    assert {len(tables.reasons.of(kind)) <= 9 for kind in tables.reasons.by_kind} == {True}
    assert set(FILES) | {"conductors.toml"} == {path.name for path in SHARED.glob("*.toml")}


def test_the_shared_reasons_have_every_kind_and_the_four_failed_tries() -> None:
    reasons = load_tables(shared).reasons
    assert reasons.of("attempt") == (NOT_ACCESSIBLE, "unstable contact", "open", "over range")
    kinds = "skip redo void insert jump reverse pause amend renumber run rework override confirm waive note"
    for kind in kinds.split():
        assert reasons.of(kind), kind


def test_the_shared_meters_differ_in_what_their_memory_does() -> None:
    meters = load_tables(shared).instruments.values()
    assert {meter.memory_size for meter in meters} == {60, 128, 500}
    assert {meter.first_number for meter in meters} == {0, 1}
    assert {meter.unit for meter in meters} == {Unit.MOHM, Unit.OHM, Unit.KOHM}
    assert all(meter.check_standard and meter.calibration_due for meter in meters)


def test_the_shared_cautions_cover_the_usual_dangers_and_defer() -> None:
    text = " ".join(f"{caution.title} {caution.text}" for caution in load_tables(shared).cautions).lower()
    for word in (
        "ignition source",
        "classified areas",
        "fuel vapour",
        "lock out",
        "de-energise",
        "discharge static",
        "electro-explosive",
        "height",
        "sharp",
        "protective finish",
        "local codes",
        "approved maintenance data",
        "licensed practice",
        "compliance with no regulation",
    ):
        assert word in text, word


def test_the_reference_table_of_conductors_is_refused_as_a_whole_or_read() -> None:
    data = (SHARED / "conductors.toml").read_bytes()
    assert len(parse_conductors(data, "conductors.toml").gauges.sizes) == 44
    with pytest.raises(BadInputError) as caught:
        parse_conductors(data.replace(b"classes", b"class").replace(b'"4/0"', b'"5/0"'), "conductors.toml")
    assert [problem.field for problem in caught.value.problems][:2] == [
        "gauges.sizes[0].awg",
        "cables[0].classes",
    ]
