"""What the record knows of a memory list besides readings: a filed check standard, a try; and no value."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.pairing.alignment import MemoryEntry, Pairing
from fieldtui.core.trail import events as ev
from fieldtui.desk.reading import read_session
from fieldtui.desk.reconcile_words import Told, as_json, format_findings, tell, words_on_record
from fieldtui.desk.reconciling import cover, has_findings, reconcile
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.taking_over import corrections, take_over
from fieldtui.files.disk import Disk
from fieldtui.report.findings.all import Kind, find_exceptions
from tests.desk.scenes import Scene, record

VALUES = ("1.38", "1.02", "0.871", "1.55", "2.13")


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    return Scene(tmp_path)


@pytest.fixture
def desk(scene: Scene) -> Desk:
    """Five readings in run 1, and then the check standard, filed as number 6."""
    desk = scene.begin()
    record(desk, *VALUES)
    desk.check_standard("2.50", number=6)
    return desk


def listed(*values: str | None) -> list[MemoryEntry]:
    shown = (None if value is None else parse_resistance(value, Unit.MOHM) for value in values)
    return [MemoryEntry(1, number, value) for number, value in enumerate(shown, 1)]


def compared(desk: Desk, memory: list[MemoryEntry]) -> tuple[Pairing, Told]:
    covered = cover(desk.survey, memory)
    pairing = reconcile(desk.survey, covered.memory, covered.runs)
    return pairing, tell(desk.survey, pairing, covered)


def exceptions(desk: Desk, kind: Kind) -> list[str]:
    found = find_exceptions(read_session(Disk(), desk.folder))
    return [finding.what for finding in found if finding.kind is kind]


# --- the next number ----------------------------------------------------------------------


def test_a_list_gives_no_number_again_that_the_standard_has_on_record(scene: Scene, desk: Desk) -> None:
    memory = listed(*VALUES)
    take_over(desk, compared(desk, memory)[0], memory, "list.csv")
    assert desk.survey.next_number == 7 and "renumber" not in scene.kinds(desk)
    assert desk.survey.reconciled == {1}


def test_nor_one_that_a_try_has(scene: Scene) -> None:
    desk = scene.begin()
    record(desk, *VALUES)
    desk.append(ev.AttemptFailed(**desk.stamp(), point="HU-02", reason="over range", run=1, number=6))
    assert desk.survey.filed_apart == {(1, 6): None}
    memory = listed(*VALUES)
    take_over(desk, compared(desk, memory)[0], memory, "list.csv")
    assert desk.survey.next_number == 7 and "renumber" not in scene.kinds(desk)


def test_a_number_that_the_crew_took_from_the_standard_is_free(desk: Desk) -> None:
    """The meter had not filed it: the number that was read out said so."""
    desk.renumber(6, "the standard was not filed")
    memory = listed(*VALUES)
    take_over(desk, compared(desk, memory)[0], memory, "list.csv")
    assert desk.survey.next_number == 6


def test_what_the_standard_has_is_the_same_once_the_session_is_opened_again(desk: Desk) -> None:
    survey = read_session(Disk(), desk.folder).survey
    assert survey.filed_apart == desk.survey.filed_apart == {(1, 6): parse_resistance("2.50", Unit.MOHM)}


# --- the entry of the standard ------------------------------------------------------------


def test_an_entry_that_the_record_gave_to_the_standard_is_no_finding(desk: Desk) -> None:
    memory = listed(*VALUES, "2.50")
    pairing, told = compared(desk, memory)
    assert not has_findings(pairing)
    assert list(format_findings(told)) == [
        "5 paired, 0 of them keyed differently; 0 in the memory only, 0 on the record only, 0 undecided, "
        "1 of the check standard"
    ]
    answer = as_json(told, 0, [], {}, [])
    assert answer["memory_only"] == []
    assert answer["check_standards"] == [
        {
            "run": 1,
            "number": 6,
            "recorded": "2.50",
            "recorded_unit": "mohm",
            "same": True,
            "value": "2.50",
            "unit": "mohm",
            "erased": False,
        }
    ]
    take_over(desk, pairing, memory, "list.csv")
    assert exceptions(desk, Kind.NO_RECORD) == exceptions(desk, Kind.STANDARD) == []


def test_a_standard_that_the_memory_has_otherwise_is_told_as_that(scene: Scene, desk: Desk) -> None:
    memory = listed(*VALUES, "2.60", "9.99")
    pairing, told = compared(desk, memory)
    assert has_findings(pairing) and corrections(desk.survey, pairing) == []
    lines = list(format_findings(told))
    assert "memory number 6: the check standard, recorded as 2.50 mΩ, is 2.60 mΩ in the memory" in lines
    assert "memory number 7 (9.99 mΩ): not on the record" in lines
    assert "1 in the memory only" in lines[-1]
    take_over(desk, pairing, memory, "list.csv")
    (row,) = (event for event in scene.events(desk) if isinstance(event, ev.Reconciled))
    assert row.note.endswith(
        "; check standard: 6 = 2.60 mΩ, recorded as 2.50 mΩ; in the memory and on no record: 7 = 9.99 mΩ"
    )
    (said,) = exceptions(desk, Kind.STANDARD)
    assert said.endswith("the check standard is another there: number 6 = 2.60 mΩ, recorded as 2.50 mΩ")
    (alone,) = exceptions(desk, Kind.NO_RECORD)
    assert alone.endswith("on no record: number 7 (9.99 mΩ)")


def test_a_standard_whose_entry_is_erased_or_empty_is_told_as_that(desk: Desk) -> None:
    erased = MemoryEntry(1, 6, parse_resistance("2.50", Unit.MOHM), erased=True)
    for last, shown in ((erased, "erased, 2.50 mΩ"), (MemoryEntry(1, 6, None), "no value")):
        pairing, told = compared(desk, [*listed(*VALUES), last])
        assert has_findings(pairing)
        assert f"recorded as 2.50 mΩ, is {shown} in the memory" in "\n".join(format_findings(told))


# --- a reading that stands and has no value there -----------------------------------------


def test_a_reading_that_stands_while_its_entry_shows_no_value_is_told(scene: Scene) -> None:
    """Whether it is sure by itself or the crew says so, with the line that it has that number."""
    desk = scene.begin()
    record(desk, *VALUES)
    memory = listed(*VALUES[:4], None)
    pairing, _ = compared(desk, memory)
    decided: set[tuple[int | None, int | None]] = {(5, None), (None, 4)}
    assert ("no value and standing" in words_on_record(pairing)) is (not pairing.undecided)
    note = words_on_record(pairing, decided)
    assert ", 1 without a value and standing" in note and note.endswith("; no value and standing: record 5")
    take_over(desk, pairing, memory, "list.csv", decided=[5], lines=decided)
    (said,) = exceptions(desk, Kind.NO_VALUE)
    assert said.endswith("the meter shows no value there, and the reading stands: record 5")
    desk.void(5, "over range")
    assert exceptions(desk, Kind.NO_VALUE) == []
    assert "no value and standing" not in words_on_record(compared(desk, memory)[0], decided)


def test_an_erased_entry_that_the_crew_decides_on_is_told_too(desk: Desk) -> None:
    memory = [*listed(*VALUES[:2]), MemoryEntry(1, 3, None, erased=True), *listed(*VALUES)[3:]]
    pairing, _ = compared(desk, memory)
    assert [each.record for each in pairing.undecided if each.record] == [3]
    assert "erased on the meter and standing: record 3" not in words_on_record(pairing)
    assert "erased on the meter and standing: record 3" in words_on_record(pairing, {(3, None), (None, 2)})
    assert "standing: record" not in words_on_record(pairing, {(3, None), (None, None)})


def test_a_sure_pair_without_a_value_is_a_finding(desk: Desk) -> None:
    memory = listed(*VALUES, "2.50")
    pairing, told = compared(desk, memory)
    pairs = (*pairing.pairs[:2], replace(pairing.pairs[2], no_value_unsaid=True), *pairing.pairs[3:])
    pairing = replace(pairing, pairs=pairs)
    told = tell(desk.survey, pairing, cover(desk.survey, memory))
    assert has_findings(pairing) and as_json(told, 0, [], {}, [])["no_value_standing"] == [3]
    assert next(format_findings(told)).startswith("NOTE: record 3 stands, without a value in the memory: ask")
    assert words_on_record(pairing).endswith("; no value and standing: record 3")


def test_a_note_has_room_for_a_little_of_everything(desk: Desk) -> None:
    """However much there is to tell, the row can be written."""
    memory = listed(*VALUES, "2.60", *(f"{90 + n / 100:.2f}" for n in range(80)))
    pairing, _ = compared(desk, memory)
    words = words_on_record(pairing, (), [f"record {n} may be number {n} = 9.99 mΩ" for n in range(90)])
    assert 400 < len(words) <= 500 and words.count("; ") == 4
