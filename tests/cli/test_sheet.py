"""``fieldtui route sheet``: what is printed is keyed into, and transcribed."""

from __future__ import annotations

import csv
import io
from pathlib import Path
from typing import Any

import pytest

from fieldtui.desk.reading import read_session
from fieldtui.files.disk import Disk
from tests.desk.scenes import Scene

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize(
    ("route", "meter"),
    [("airframe-bonds", "small-meter"), ("hangar-ground", "bench-meter"), ("jetty-static", "jetty-meter")],
)
def test_a_sheet_that_was_keyed_into_becomes_a_session(
    ask: Any, tmp_path: Path, route: str, meter: str
) -> None:
    (tmp_path / "shared").symlink_to(ROOT / "shared")
    answer = ask("route", "sheet", route, "--meter", meter, "--json")
    assert answer.code == 0
    made = {Path(file).suffix: Path(file) for file in answer.json["files"]}
    assert set(made) == {".html", ".txt", ".csv"}
    rows = list(csv.DictReader(io.StringIO(made[".csv"].read_text(encoding="utf-8"))))
    filed = "0"
    for row in rows:
        if row["action"] == "reading":
            row["value"], filed = "1.0", row["memory"]
        elif row["action"] == "number":
            row["memory"] = filed
    keyed = io.StringIO(newline="")
    writer = csv.DictWriter(keyed, rows[0])
    writer.writeheader()
    writer.writerows(rows)
    made[".csv"].write_text(keyed.getvalue(), encoding="utf-8", newline="")  # CRLF, as spreadsheets save
    answer = ask("transcribe", route, str(made[".csv"]), "--meter", meter, "--json")
    assert (answer.code, answer.err) == (0, "")
    assert not [each for each in answer.json["suspects"] if "number" in each["why"]]
    session = read_session(Disk(), Path(answer.json["session"]))
    assert len(session.survey.records) == sum(row["action"] == "reading" for row in rows)
    assert session.survey.to_take == 0


def test_a_sheet_of_voltages_is_keyed_into_as_it_was_printed(ask: Any, tmp_path: Path) -> None:
    """As README says: the voltages with their sign, the unit as the sheet has it."""
    Scene(tmp_path)
    route = tmp_path / "routes" / "wing.toml"
    text = route.read_text(encoding="utf-8")
    pair = 'limit = { max = 2.5, cmp = "<" }\nmethod = "reversed"\ncurrent_ma = 100\n'
    route.write_text(text.replace('limit = { max = 2.5, cmp = "<" }\n', pair), encoding="utf-8")
    assert ask("route", "sheet", "wing").code == 0
    printed = {
        end: (tmp_path / "sheets" / f"wing-sheet.{end}").read_text("utf-8") for end in ("txt", "html", "csv")
    }
    rows = list(csv.DictReader(io.StringIO(printed["csv"])))
    assert [row["unit"] for row in rows if row["point"] in ("SW-01", "SW-02")] == ["mV", "mV", "mohm"]
    assert printed["txt"].count("] ±mV") == printed["html"].count('"unit">±mV<') == 2
    values = iter(["0.55", "-0.52", *["0.02"] * 9])
    keyed = io.StringIO(newline="")
    writer = csv.DictWriter(keyed, rows[0], delimiter=";")  # a spreadsheet that has decimal commas
    writer.writeheader()
    for row in rows:
        writer.writerow(
            row | {"value": next(values).replace(".", ",")} if row["action"] == "reading" else row
        )
    (tmp_path / "keyed.csv").write_text(keyed.getvalue(), encoding="utf-8", newline="")
    answer = ask("transcribe", "wing", "keyed.csv", "--json")
    assert (answer.code, answer.err) == (0, "")
    session = read_session(Disk(), Path(answer.json["session"]))
    left = session.survey.standings["SW-01"].as_left
    assert left is not None
    assert str(left.value).startswith("5.35 mΩ")
    assert [session.survey.records[n].reading.cells[1] for n in (1, 2, 3)] == ["mV/100mA", "mV/100mA", "mohm"]


def test_a_sheet_not_keyed_into_is_refused_line_by_line(ask: Any, tmp_path: Path) -> None:
    assert ask("route", "sheet", "jetty-static").code == 0
    answer = ask("transcribe", "jetty-static", "sheets/jetty-static-sheet.csv")
    assert answer.code == 2
    assert "sheets/jetty-static-sheet.csv:2, value: error: a reading without a value" in answer.err
    assert not (tmp_path / "sessions").exists()


def test_after_a_skip_the_printed_numbers_no_longer_hold_and_it_is_told(ask: Any, tmp_path: Path) -> None:
    assert ask("route", "sheet", "jetty-static").code == 0
    path = tmp_path / "sheets" / "jetty-static-sheet.csv"
    header, first, second, *_ = path.read_text(encoding="utf-8").splitlines()
    skipped = "skip," + first.split(",")[1] + ",,,,,rain,,"
    point, record = second.split(",")[1:3]
    path.write_text("\n".join([header, skipped, f"reading,{point},{record},1.0"]) + "\n", encoding="utf-8")
    answer = ask("transcribe", "jetty-static", str(path))
    assert answer.code == 2
    assert "record 2, but 1 is next" in answer.err


def test_what_was_written_is_said(ask: Any) -> None:
    answer = ask("route", "sheet", "jetty-static", "--meter", "jetty-meter", "--out", "paper")
    assert answer.code == 0
    first, *files = answer.out.splitlines()
    assert first.endswith("readings, 1 memory run")
    assert files == [f"wrote {Path('paper') / 'jetty-static-sheet'}.{end}" for end in ("html", "txt", "csv")]
    again = ask("route", "sheet", "jetty-static", "--out", "paper")
    assert again.code == 2
    assert "--force" in again.err
    assert ask("route", "sheet", "jetty-static", "--out", "paper", "--force").code == 0


@pytest.mark.parametrize(
    ("arguments", "said"),
    [
        (["nowhere"], "There is no route"),
        (["jetty-static", "--meter", "small"], "There is no meter small"),
        (["jetty-static", "--out", "a/b/c"], "could not be written"),
    ],
)
def test_wrong_use_is_answered_in_words(ask: Any, arguments: list[str], said: str) -> None:
    answer = ask("route", "sheet", *arguments, "--json")
    assert answer.code in (1, 2)
    assert said in answer.err
    assert answer.json["ok"] is False
