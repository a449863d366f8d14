"""What a memory list showed stays among the exceptions once its run counts as reconciled."""

from __future__ import annotations

from fieldtui.core.trail import events as ev
from fieldtui.report.findings.all import Kind
from tests.report.test_findings import of_kind, only, told
from tests.ui.review_fixtures import Story

COUNTS = "1 paired, 0 of them keyed differently; {} in the memory only, 0 on the record only, 0 undecided"
ALONE = "; in the memory and on no record: "


def held(note: str, alone: int = 0) -> Story:
    """Two readings, and a memory run held against a list."""
    story = told().read("SW-01", "1.0").read("SW-02", "1.1")
    return story.tell(ev.Reconciled, run=1, ref="list.csv", note=COUNTS.format(alone) + note)


def test_an_entry_of_the_memory_that_no_reading_is_is_told_with_number_and_value() -> None:
    entries = "34 = 9.99 mΩ | 5 = 1.2 mΩ (number twice) | ? = erased | and 3 more"
    found = only(held(ALONE + entries, 6), Kind.NO_RECORD)
    assert found.what == (
        "memory run 1 was held against list.csv: in the meter's memory and on no record: "
        "number 34 (9.99 mΩ), number 5 (1.2 mΩ (number twice)), an entry without a number (erased), "
        "and 3 more"
    )
    assert found.where == "row 10" and "nobody keyed" in found.remedy
    assert of_kind(held(""), Kind.NO_RECORD) == []


def test_it_is_told_of_the_last_list_alone() -> None:
    story = held(f"{ALONE}34 = 9.99 mΩ", 1)
    story.tell(ev.Reconciled, run=1, ref="list.csv", note=COUNTS.format(0))
    assert of_kind(story, Kind.NO_RECORD) == []


def test_a_row_that_only_counts_such_entries_is_told_as_it_stands() -> None:
    """So did earlier programs write it."""
    assert COUNTS.format(2) in only(held("", 2), Kind.NO_RECORD).what


def test_a_number_that_a_try_without_a_value_used_up_is_on_record() -> None:
    story = told().read("SW-01", "1.0")
    story.tell(ev.AttemptFailed, point="SW-02", reason="over range", run=1, number=2)
    for entries, words in (
        ("2 = no value", []),
        ("2 = no value | 3 = no value", ["number 3 (no value)"]),
        ("2 = 1.4 mΩ", ["number 2 (1.4 mΩ)"]),  # it shows a value: that is another thing
    ):
        story.tell(ev.Reconciled, run=1, ref="list.csv", note=f"{COUNTS.format(1)}{ALONE}{entries}")
        found = of_kind(story, Kind.NO_RECORD)
        assert [each.what.rpartition(": ")[2] for each in found] == words


def test_a_reading_whose_entry_is_erased_is_told_for_as_long_as_it_stands() -> None:
    story = held("; erased on the meter and standing: record 1 | 2")
    assert only(story, Kind.ERASED).what.endswith("as erased, and the reading stands: record 1, 2")
    story.tell(ev.Voided, ref=1, point="SW-01", reason="spoiled")
    assert only(story, Kind.ERASED).what.endswith("record 2")
    story.tell(ev.Erased, ref=2, reason="spoiled")
    assert of_kind(story, Kind.ERASED) == []


def test_what_stays_undecided_is_told_with_record_and_entry() -> None:
    story = told().read("SW-01", "1.0").read("SW-02", "1.1")
    counts = COUNTS.format(1).replace("0 undecided", "2 undecided")
    lines = "record 1 (keyed 1.0 mΩ, number 1) may be number 1 = 2.9 mΩ | record 2 may be number 2 = 3 mΩ"
    note = f"{counts}; left undecided: {lines}{ALONE}34 = 9.99 mΩ"
    story.tell(ev.Reconciled, run=1, ref="list.csv", reason="late", note=note)
    said = only(story, Kind.UNDECIDED).what
    assert said.endswith(f"2 undecided: {lines.replace(' | ', ', ')}")
    assert only(story, Kind.NO_RECORD).what.endswith("number 34 (9.99 mΩ)")


def test_a_note_that_somebody_wrote_otherwise_is_no_riddle() -> None:
    for note in (f"; {ALONE}", "; erased on the meter and standing: record x | ² | 99", f"{ALONE}| |"):
        for count in (0, 1):
            story = held(note, count)
            assert len(of_kind(story, Kind.NO_RECORD)) == count
            assert len(of_kind(story, Kind.ERASED)) <= 1
