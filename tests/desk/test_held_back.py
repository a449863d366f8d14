"""What of a comparison is the crew's to say: a lost line looks like a reading that was never kept."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from fieldtui.core.measurement.ohms import Unit, parse_resistance
from fieldtui.core.pairing.alignment import MemoryEntry, Pairing
from fieldtui.core.trail import events as ev
from fieldtui.desk.held_back import held_back
from fieldtui.desk.reading import read_session
from fieldtui.desk.reconcile_words import as_json, format_findings, left_undecided, tell, words_on_record
from fieldtui.desk.reconciling import Covered, count_findings, cover, findings_of_run, has_findings, reconcile
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.taking_over import (
    Correction,
    corrections,
    corrections_of,
    has_to_write,
    leave_as_it_is,
    settled_runs,
    take_over,
    take_over_one,
    unsettled,
)
from fieldtui.errors import BadInputError, DiskFullError
from fieldtui.files.disk import Disk
from tests.desk.scenes import BRIEF, FULL, METER, ROUTE, FailingDisk, Scene, record

VALUES = ("1.38", "1.02", "0.871", "1.55", "2.13")
BIG = replace(BRIEF, instrument=replace(METER, memory_size=0))


MORE_POINTS = ROUTE.replace('unit = "ohm"\n', "") + "".join(
    f'\n[[points]]\nid = "HU-{at:02}"\nsection = "HU"\ntitle = "Rib"\nlimit = {{ record_only = true }}\n'
    for at in range(3, 8)
)


@pytest.fixture
def scene(tmp_path: Path) -> Scene:
    scene = Scene(tmp_path)
    (tmp_path / "routes" / "wing.toml").write_text(MORE_POINTS, encoding="utf-8")
    return scene


@pytest.fixture
def desk(scene: Scene) -> Desk:
    """Five readings in run 1, numbers 1 to 5."""
    desk = scene.begin(BIG)
    record(desk, *VALUES)
    return desk


def listed(*lines: str, run: int | None = 1) -> list[MemoryEntry]:
    """Entries from ``number value``, ``number erased value`` and ``number x``, where it shows no value."""
    found = []
    for line in lines:
        number, *states, value = line.split()
        reading = None if value == "x" else parse_resistance(value, Unit.MOHM)
        found.append(MemoryEntry(run, int(number), reading, bool(states)))
    return found


def numbered(*values: str, without: tuple[int, ...] = ()) -> list[MemoryEntry]:
    return listed(*(f"{at} {value}" for at, value in enumerate(values, 1) if at not in without))


def compared(desk: Desk, memory: list[MemoryEntry]) -> Pairing:
    return reconcile(desk.survey, memory, {1})


def said(desk: Desk, memory: list[MemoryEntry]) -> list[str]:
    told = tell(desk.survey, compared(desk, memory), Covered(memory, frozenset({1})))
    return [*told.notes, *format_findings(told)]


def what(desk: Desk, memory: list[MemoryEntry]) -> list[tuple[int, str]]:
    return [(each.record, each.what) for each in corrections(desk.survey, compared(desk, memory))]


def written(scene: Scene, desk: Desk) -> list[str]:
    kinds = ("amend", "unfiled", "renumber", "reconcile", "note")
    return [kind for kind in scene.kinds(desk) if kind in kinds]


# --- a line that the list may have lost ---------------------------------------------------


@pytest.mark.parametrize(
    ("without", "words"),
    [
        ((3,), "the list leaves out number 3"),
        ((1,), "the list leaves out number 1"),  # the first line, lost with the header
        ((2, 3), "the list leaves out number 2"),
    ],
)
def test_a_number_that_the_list_leaves_out_is_not_said_to_be_of_a_reading_never_kept(
    scene: Scene, desk: Desk, without: tuple[int, ...], words: str
) -> None:
    memory = numbered(*VALUES, without=without)
    pairing = compared(desk, memory)
    assert tuple(held_back(desk.survey, pairing).readings) == without
    assert f"record {without[0]}: not in the memory; {words}: look at the meter whether it is there" in said(
        desk, memory
    )
    assert settled_runs(desk.survey, pairing) == []
    assert "wants a look at the meter" in unsettled(desk.survey, pairing)[1]
    assert not has_to_write(desk.survey, pairing, "list.csv")
    assert take_over(desk, pairing, memory, "list.csv") == 0
    assert written(scene, desk) == []
    assert [each.number for each in desk.survey.records.values()] == [1, 2, 3, 4, 5]


def test_a_reading_that_leaves_no_number_out_was_not_kept(desk: Desk) -> None:
    """The meter numbers on: those behind it have the next lower numbers."""
    memory = numbered("1.38", "1.02", "1.55", "2.13")
    assert what(desk, memory) == [(3, "not kept"), (4, "number"), (5, "number")]
    assert settled_runs(desk.survey, compared(desk, memory)) == [1]


def test_the_number_left_out_is_looked_for_in_the_lists_own_numbers(scene: Scene) -> None:
    """Record 2 was never kept, so that record 5 is number 4; the line of number 4 was lost as well."""
    desk = scene.begin(BIG)
    record(desk, *VALUES, "1.91", "2.44")
    memory = numbered("1.38", "0.871", "1.55", "2.13", "1.91", "2.44", without=(4,))
    held = held_back(desk.survey, compared(desk, memory)).readings
    assert {number: why.partition(":")[0] for number, why in held.items()} == {
        5: "the list leaves out number 4"
    }
    assert (2, "not kept") in what(desk, memory) and (5, "not kept") not in what(desk, memory)


def test_the_number_of_an_entry_deleted_on_the_meter_explains_a_number_left_out(desk: Desk) -> None:
    desk.erase(3, "spoiled")
    memory = numbered("1.38", "1.02", "x", "2.13", without=(3,))  # record 4 was never kept
    held = held_back(desk.survey, compared(desk, memory))
    assert not held.readings and (4, "not kept") in what(desk, memory)
    memory = listed("1 1.38", "2 1.02", "5 2.13")  # numbers 3 and 4 are left out, one of them for that
    assert list(held_back(desk.survey, compared(desk, memory)).readings) == [4]


def test_a_reading_whose_number_was_read_out_and_agreed_was_filed(scene: Scene) -> None:
    """Among those that leave no number out, and at the end, where it says more than that the list ends."""
    for at in (3, 5):
        for is_read_out in (False, True):
            desk = scene.begin(BIG)
            record(desk, *VALUES[:at])
            if is_read_out:
                desk.check_number(at)
            record(desk, *VALUES[at:])
            memory = numbered(*(value for place, value in enumerate(VALUES, 1) if place != at))
            is_lost = (at, "not kept") not in what(desk, memory)
            assert is_lost == (is_read_out or at == 5)
            asked = [line for line in said(desk, memory) if f"number {at} was read out right after" in line]
            assert len(asked) == is_read_out
            desk.leave()


def test_the_crew_says_which_it_was(scene: Scene, desk: Desk) -> None:
    memory = numbered(*VALUES, without=(3,))
    pairing = compared(desk, memory)
    leave_as_it_is(desk, 3, "list.csv")
    (note,) = (event for event in scene.events(desk) if isinstance(event, ev.Noted))
    assert note.note == "record 3 keeps memory number 3: seen on the meter, and not in list.csv"
    assert settled_runs(desk.survey, pairing, decided=[3]) == [1]
    take_over(desk, pairing, memory, "list.csv", decided=[3])
    assert written(scene, desk) == ["note", "reconcile"]
    assert desk.survey.records[3].number == 3 and desk.survey.reconciled == {1}


# --- what stays undecided -------------------------------------------------------------------


def test_what_stays_undecided_stands_in_the_row_with_the_reason_for_it(scene: Scene, desk: Desk) -> None:
    """The value keyed passes, that of the list does not: whether it is the same reading nobody can tell."""
    memory = numbered("1.38", "1.02", "3.44", "1.55", "2.13")
    pairing = compared(desk, memory)
    take_over(desk, pairing, memory, "list.csv", reason="the meter is gone")
    (row,) = (event for event in scene.events(desk) if isinstance(event, ev.Reconciled))
    assert row.reason == "the meter is gone"
    assert row.note == (
        "4 paired, 0 of them keyed differently; 0 in the memory only, 0 on the record only, 2 undecided; "
        "left undecided: record 3 (keyed 0.871 mΩ, number 3) may be number 3 = 3.44 mΩ"
    )
    survey = read_session(Disk(), desk.folder).survey
    assert survey.reconciled == {1} and survey.undecided == desk.survey.undecided == {1: 2}


def test_what_the_crew_decided_on_is_undecided_no_more(scene: Scene, desk: Desk) -> None:
    memory = numbered("1.38", "1.02", "3.44", "1.55", "2.13")
    pairing = compared(desk, memory)
    assert left_undecided(desk.survey, pairing, memory, [(3, None)]) == [
        "number 3 = 3.44 mΩ may be on no record"
    ]
    lines = [(3, None), (None, 2)]
    assert left_undecided(desk.survey, pairing, memory, lines) == []
    take_over(desk, pairing, memory, "list.csv", decided=[3], lines=lines)
    (row,) = (event for event in scene.events(desk) if isinstance(event, ev.Reconciled))
    assert row.note.endswith("0 on the record only, 0 undecided, 2 decided one by one")
    assert desk.survey.undecided == {}


def test_of_a_run_with_many_undecided_lines_the_row_names_what_it_has_room_for(scene: Scene) -> None:
    desk = scene.begin(BIG)
    record(desk, *["1.38"] * 7)
    memory = numbered(*["1.38"] * 4, "9.4")
    pairing = compared(desk, memory)
    words = left_undecided(desk.survey, pairing, memory)
    note = words_on_record(pairing, undecided=words)
    assert 300 < len(note) <= 500 and " more" in note


# --- an order in doubt --------------------------------------------------------------------


def test_a_reading_and_an_entry_of_one_value_in_other_places_put_the_order_in_doubt(
    scene: Scene,
) -> None:
    """Three values turned round: their lines were moved, or the readings were. No list tells."""
    desk = scene.begin(BIG)
    record(desk, *VALUES, "1.91", "2.44", "1.27")
    memory = numbered("1.38", "1.02", "1.55", "2.13", "0.871", "1.91", "2.44", "1.27")
    pairing = compared(desk, memory)
    assert [each.record for each in pairing.record_only] == [3]
    assert [each.number for each in pairing.memory_only] == [5]
    assert what(desk, memory) == []
    lines = said(desk, memory)
    assert any(
        line.startswith("record 3: not in the memory; number 5 shows the very same value") for line in lines
    )
    assert "record 4: paired with number 3; it hangs on where record 3 belongs" in lines
    assert take_over(desk, pairing, memory, "list.csv") == 0 and written(scene, desk) == []


def test_a_number_that_stands_on_two_lines_is_given_to_no_second_reading(scene: Scene, desk: Desk) -> None:
    """A misprint in the list: no meter files two readings under one number."""
    memory = listed("1 1.38", "2 1.02", "3 0.871", "4 1.55", "4 2.13")
    pairing = compared(desk, memory)
    assert held_back(desk.survey, pairing).twice == {5}
    assert corrections(desk.survey, pairing) == [] and settled_runs(desk.survey, pairing) == []
    told = "record 5: paired with number 4; number 4 stands on two lines of the list"
    assert any(told in line for line in said(desk, memory))
    take_over(desk, pairing, memory, "list.csv")
    assert written(scene, desk) == [] and desk.survey.next_number == 6


def test_another_value_on_no_record_puts_nothing_in_doubt(scene: Scene) -> None:
    desk = scene.begin(BIG)
    record(desk, *VALUES, "1.91", "2.44", "1.27")
    memory = numbered("1.38", "1.02", "1.55", "2.13", "9.4", "1.91", "2.44", "1.27")
    assert what(desk, memory) == [(3, "not kept"), (4, "number"), (5, "number")]


# --- what cannot be put on record, and what fails half way --------------------------------


def test_a_value_that_no_record_can_hold_is_told_and_the_rest_is_taken_over(scene: Scene, desk: Desk) -> None:
    memory = numbered("1.38", "1.20", "0.871", "1.55", "2.13")
    memory[3] = MemoryEntry(1, 4, parse_resistance("1.55", Unit.MEGOHM), line=5)
    pairing = compared(desk, memory)
    (line,) = (each for each in said(desk, memory) if each.startswith("record 4: "))
    assert "NOT TAKEN OVER, line 5 of the list: 1550000000: more than 9 digits" in line
    assert what(desk, memory) == [(2, "value")]
    assert settled_runs(desk.survey, pairing) == []
    assert settled_runs(desk.survey, pairing, decided=[4]) == [1]
    assert take_over(desk, pairing, memory, "list.csv") == 1
    assert written(scene, desk) == ["amend"] and str(desk.survey.records[4].reading) == "1.55 mΩ"


def test_nothing_is_written_where_a_part_of_it_cannot_be(scene: Scene) -> None:
    """A number beyond the meter's last would be the next one: told before the first amendment."""
    desk = scene.begin()  # twelve places
    record(desk, *VALUES)
    memory = numbered("1.38", "1.20", "0.871", "1.55", "2.13")
    memory.append(MemoryEntry(1, 99, parse_resistance("9.4", Unit.MOHM)))
    pairing = compared(desk, memory)
    with pytest.raises(BadInputError, match=r"Nothing was taken over; memory number 100 is beyond"):
        take_over(desk, pairing, memory, "list.csv")
    assert written(scene, desk) == []
    assert str(desk.survey.records[2].reading) == "1.02 mΩ"


def test_one_finding_of_which_a_part_cannot_be_written_is_refused_whole(scene: Scene, desk: Desk) -> None:
    memory = numbered("1.38", "1.02", "0.871", "1.55", "2.13")
    memory[4] = MemoryEntry(1, 7, parse_resistance("2.13", Unit.MEGOHM))
    wanted = [each for each in corrections_of_all(desk, memory) if each.record == 5]
    assert [each.what for each in wanted] == ["number", "value"]
    with pytest.raises(BadInputError, match=r"Nothing was taken over; record 5: .*more than 9 digits"):
        take_over_one(desk, wanted, "looked up")
    assert written(scene, desk) == [] and desk.survey.records[5].number == 5


def corrections_of_all(desk: Desk, memory: list[MemoryEntry]) -> list[Correction]:
    return [each for pair in compared(desk, memory).pairs for each in corrections_of(desk.survey, pair)]


def test_what_is_tried_first_leaves_the_desk_as_it_was(scene: Scene, desk: Desk) -> None:
    """Also a step of the clock that is still to be told: the trial tells it to nobody."""
    survey, rows, seal = desk.survey, desk.rows, desk.seal
    scene.clock.step(3600)
    seen: list[int] = []

    def deed(twin: Desk) -> None:
        twin.unfile(2, "as a trial")
        seen.append(twin.rows)

    desk.rehearse(deed)
    assert seen == [rows + 2]  # the step, and the deed
    assert (desk.survey, desk.rows, desk.seal) == (survey, rows, seal)
    desk.unfile(3, "in earnest")
    assert scene.kinds(desk)[-2:] == ["clock", "unfiled"]
    assert desk.survey.records[2].number == 2 and desk.survey.records[3].number is None


def test_a_disk_that_fails_half_way_says_what_stands(tmp_path: Path) -> None:
    disk = FailingDisk()
    scene = Scene(tmp_path, disk)
    desk = scene.begin(BIG)
    record(desk, *VALUES)
    memory = numbered("1.38", "1.20", "0.871", "1.55", "2.31")
    pairing = compared(desk, memory)
    real, writes = disk.write, []

    def write(fd: int, data: bytes) -> int:
        writes.append(data)
        if len(writes) == 2:
            disk.fails = [("write", FULL)]
        return real(fd, data)

    disk.write = write  # type: ignore[method-assign]
    done: list[Correction] = []
    with pytest.raises(DiskFullError) as caught:
        take_over(desk, pairing, memory, "list.csv", done=done)
    assert caught.value.what == (
        "NOT SAVED: the disk is full; 1 of 2 amendments appended before it: record 2 (value)"
    )
    assert len(done) == 1 and written(scene, desk) == ["amend"]
    writes.clear()
    writes.append(b"")  # the very first one fails: nothing stands, and nothing is said to
    with pytest.raises(DiskFullError) as caught:
        take_over(desk, compared(desk, memory), memory, "list.csv")
    assert caught.value.what == "NOT SAVED: the disk is full."


# --- what nobody can find again once the memory is cleared --------------------------------


def test_an_entry_on_no_record_is_told_with_what_it_shows(desk: Desk) -> None:
    memory = [*numbered(*VALUES), *listed("6 9.99", "7 erased 9.4", "8 x")]
    lines = said(desk, memory)
    assert "memory number 6 (9.99 mΩ): not on the record" in lines
    assert "memory number 7 (erased, 9.4 mΩ): not on the record" in lines
    assert "memory number 8 (no value): not on the record" in lines
    told = tell(desk.survey, compared(desk, memory), Covered(memory, frozenset({1})))
    entries = as_json(told, 0, [], {}, [])["memory_only"]
    assert isinstance(entries, list)
    assert [(each["number"], each["value"], each["unit"], each["erased"]) for each in entries] == [
        (6, "9.99", "mohm", False),
        (7, "9.4", "mohm", True),
        (8, None, None, False),
    ]
    assert words_on_record(compared(desk, memory)) == (
        "5 paired, 0 of them keyed differently; 3 in the memory only, 0 on the record only, 0 undecided; "
        "in the memory and on no record: 6 = 9.99 mΩ | 7 = erased, 9.4 mΩ | 8 = no value"
    )


def test_a_number_that_stands_twice_is_told_as_that(desk: Desk) -> None:
    memory = numbered(*VALUES)
    memory.insert(3, *listed("3 9.99"))
    assert "memory number 3 (9.99 mΩ): not on the record; its number stands twice in the list" in said(
        desk, memory
    )
    assert "3 = 9.99 mΩ (number twice)" in words_on_record(compared(desk, memory))
    memory[3:4] = listed("3 0.871")
    assert "memory number 3 (0.871 mΩ): stands twice in the list, and once on the record" in said(
        desk, memory
    )
    memory = numbered("1.38", "1.02", "0.871", "0.871", "1.55", "2.13")
    (line,) = (each for each in said(desk, memory) if each.startswith("memory number"))
    assert "stored twice, repeats number" in line


def test_of_more_entries_than_a_cell_has_room_for_the_rest_is_counted(desk: Desk) -> None:
    many = listed(*(f"{number} {90 + number / 100:.2f}" for number in range(6, 80)))
    words = words_on_record(compared(desk, [*numbered(*VALUES), *many]))
    assert 400 < len(words) <= 500
    named = words.count(" = ")
    assert words.endswith(f" | and {74 - named} more")


def test_a_reading_that_stands_while_its_entry_is_erased_is_no_silent_match(scene: Scene, desk: Desk) -> None:
    memory = listed("1 1.38", "2 erased 1.02", "3 0.871", "4 1.55", "5 2.13")
    pairing = compared(desk, memory)
    assert [pair.record for pair in pairing.pairs if pair.erased_unsaid] == [2]
    assert has_findings(pairing)
    assert said(desk, memory)[0].startswith("record 2 stands, erased on the meter: ask why")
    assert count_findings(pairing).endswith("0 undecided, 1 erased on the meter and standing on record")
    take_over(desk, pairing, memory, "list.csv")
    assert desk.survey.reconciled == {1}
    (row,) = (event for event in scene.events(desk) if isinstance(event, ev.Reconciled))
    assert row.note.endswith("; erased on the meter and standing: record 2")


@pytest.mark.parametrize("deed", ["void", "erase"])
def test_an_erased_entry_of_a_reading_that_was_struck_out_or_deleted_is_as_it_should_be(
    desk: Desk, deed: str
) -> None:
    getattr(desk, deed)(2, "spoiled")
    pairing = compared(desk, listed("1 1.38", "2 erased 1.02", "3 0.871", "4 1.55", "5 2.13"))
    assert not has_findings(pairing)


def test_a_row_counts_what_was_found_of_its_own_run(scene: Scene, desk: Desk) -> None:
    desk.start_run(1, "memory full")
    record(desk, "3.31", "1.92")
    memory = numbered(*VALUES) + listed("1 3.31", "2 1.92", "3 0.44", run=2)
    covered = cover(desk.survey, memory)
    pairing = reconcile(desk.survey, covered.memory, covered.runs)
    assert count_findings(findings_of_run(desk.survey, pairing, 2)).startswith("2 paired")
    take_over(desk, pairing, memory, "list.csv")
    rows = [event for event in scene.events(desk) if isinstance(event, ev.Reconciled)]
    assert [(row.run, row.note[:8], " 1 in the memory only" in row.note) for row in rows] == [
        (1, "5 paired", False),
        (2, "2 paired", True),
    ]


def test_entries_that_read_like_the_next_run_ask_whether_the_memory_was_cleared(desk: Desk) -> None:
    desk.start_run(1, "memory full")
    record(desk, "3.31", "1.92", "0.44")
    memory = numbered(*VALUES, "3.31", "1.92", "0.44")
    note = (
        "numbers 6 to 8 read like records 6 to 8, of memory run 2: "
        "was the memory not cleared when that run began?"
    )
    assert note in said(desk, memory)
    assert note not in said(desk, numbered(*VALUES, "3.31", "1.92"))  # two may be alike by chance
    assert note not in said(desk, numbered(*VALUES, "7.1", "5.2", "9.3"))
