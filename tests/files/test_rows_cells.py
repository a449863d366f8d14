"""Cells of trail rows at the edges: voltages out of form, and values kept for the next row, up to a bound."""

from __future__ import annotations

import pytest

from fieldtui.files.route.point_table import parse_point_table
from fieldtui.files.trail import row_decoders
from fieldtui.files.trail.row_decoders import decode_columns
from fieldtui.files.trail.rows import COLUMNS, RowError, format_row, parse_reading, parse_row, split_line
from tests.crash.model import FIRST_LINK, reading


def test_a_voltage_comes_back_as_it_is_spelled_and_in_no_other_way() -> None:
    assert parse_reading("0.276", "mV/200mA").cells == ("0.276", "mV/200mA")
    for value, unit in (
        ("0.276", "mV/0200mA"),
        ("0.276", "mV/0mA"),
        ("x", "mV/200mA"),
        ("1", "volt"),
    ):
        with pytest.raises(RowError):
            parse_reading(value, unit)


def test_values_kept_for_the_next_row_are_bounded_and_none_is_mixed_up(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setattr(row_decoders, "_MOST", 3)
    row_decoders._decoder_of.cache_clear()
    texts = [f"1.{number:02}" for number in range(20)]
    rows = []
    for number, text in enumerate(texts, 1):
        line, _ = format_row(number, reading(number), FIRST_LINK)
        cells = split_line(line.decode().rstrip("\n"))
        cells[COLUMNS.index("value")] = text
        rows.append(cells)
    events = decode_columns([*zip(*rows, *rows, strict=True)])
    row_decoders._decoder_of.cache_clear()
    assert events == [parse_row(cells) for cells in rows + rows]


def test_the_example_of_a_column_is_its_first_cell_that_says_something() -> None:
    table = parse_point_table(b"id,title,note\nA,,\nB,Strap,\n", "points.csv")
    assert [table.example(column) for column in table.columns] == ["A", "Strap", ""]
