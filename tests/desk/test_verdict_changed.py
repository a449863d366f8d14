"""A verdict in the trail is changed and every link made anew: the chain holds, and ``verify`` reports it."""

from __future__ import annotations

import csv
import io
from dataclasses import replace
from decimal import Decimal
from pathlib import Path

import pytest

from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.trail import chain
from fieldtui.core.trail.events import Answer
from fieldtui.core.verdict.judging import Verdict
from fieldtui.desk.reading import read_session
from fieldtui.desk.verifying import verify_session
from fieldtui.files.disk import Disk
from fieldtui.files.session.file import parse_session
from fieldtui.files.trail.rows import COLUMNS, format_line
from fieldtui.report.findings.all import Kind, find_exceptions
from tests.desk.scenes import BRIEF, METER, ROUTE, Scene, record

VERDICT = COLUMNS.index("verdict")
ACCURACY = Accuracy(Decimal(0), Resistance(Decimal("0.10"), Unit.MOHM))


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Every kind of verdict: four states, a median of three, values at 20 C, a retest, a correction,
    a point that only notes, an unplanned one, checks of the meter, a number check."""
    scene = Scene(tmp_path_factory.mktemp("verdicts"))
    text = ROUTE.replace(
        "check_every = 4", 'check_every = 4\ncorrect_to_20 = true\ndecision = "four-state"', 1
    )
    (scene.root / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    brief = replace(BRIEF, instrument=replace(METER, accuracy=ACCURACY), conductor_c=Decimal(35))
    with scene.begin(brief) as desk:
        record(desk, "2.60", "3.25", "3.1", "3.2", "9.9", "0.2", "0.4")
        desk.check_number(7)
        desk.check_standard("2.46")
        desk.insert("Spare strap", "<= 1 mohm", "seen")
        record(desk, "1.02")
        desk.rework("SW-02", "lug cleaned", "D-1")
        desk.jump("SW-02")
        record(desk, "2.1")
        desk.amend_value(1, "2.70", "value keyed wrong")
        desk.check_standard("2.60", is_last=True)
        return desk.folder


def rows_of(folder: Path) -> list[list[str]]:
    return list(csv.reader(io.StringIO((folder / "trail.csv").read_text(encoding="utf-8"), newline="")))


def with_cell(folder: Path, there: Path, row: int, verdict: str) -> Path:
    """A copy in which row ``row`` says ``verdict``, linked as if it had always said so."""
    there.mkdir()
    session = (folder / "session.toml").read_bytes()
    (there / "session.toml").write_bytes(session)
    header, *rows = rows_of(folder)
    rows[row - 1][VERDICT] = verdict
    link = parse_session(session, "session.toml").first_link
    lines = [",".join(header) + "\n"]
    for cells in rows:
        link = chain.link(link, cells[:-1])
        lines.append(format_line([*cells[:-1], link]).decode())
    (there / "trail.csv").write_text("".join(lines), encoding="utf-8", newline="")
    return there


def test_the_session_itself_is_whole_and_has_every_verdict(folder: Path, tmp_path: Path) -> None:
    assert verify_session(Disk(), folder).ok
    _, *rows = rows_of(folder)
    said = {cells[VERDICT] for cells in rows if cells[2] == "reading"}
    assert said == {verdict.value for verdict in Verdict}
    row = next(place for place, cells in enumerate(rows, 1) if cells[VERDICT])
    same = with_cell(folder, tmp_path / "same", row, rows[row - 1][VERDICT])
    assert (same / "trail.csv").read_bytes() == (folder / "trail.csv").read_bytes()


def test_every_changed_verdict_is_reported_though_the_chain_holds(folder: Path, tmp_path: Path) -> None:
    _, *rows = rows_of(folder)
    words = {
        "reading": [verdict.value for verdict in Verdict],
        "amend": [verdict.value for verdict in Verdict],
        "standard": [Answer.GOOD.value, Answer.BAD.value],
        "number": ["agree", "differ"],
    }
    tried = 0
    for row, cells in enumerate(rows, 1):
        for verdict in words.get(cells[2], ()):
            if verdict == cells[VERDICT] or (cells[2], verdict) == ("number", "differ"):
                continue  # a check that is said to differ stops the line: that is seen at once
            there = with_cell(folder, tmp_path / f"{row} {verdict}", row, verdict)
            found = verify_session(Disk(), there)
            assert not found.ok, (row, cells[2], verdict)
            assert any("verdict said is" in each.what for each in found.problems), (row, verdict)
            session = read_session(Disk(), there)
            kinds = {each.kind for each in find_exceptions(session)}
            assert kinds & {Kind.VERDICT, Kind.CONTRADICTION}
            assert Kind.TRAIL not in kinds  # the chain has nothing to say of it
            tried += 1
    assert tried == 4 * 10 + 2


def test_a_number_check_that_is_said_to_agree_and_does_not_is_reported(folder: Path, tmp_path: Path) -> None:
    _, *rows = rows_of(folder)
    row = next(place for place, cells in enumerate(rows, 1) if cells[2] == "number")
    rows[row - 1][COLUMNS.index("number")] = "9"
    source = tmp_path / "source"
    source.mkdir()
    (source / "session.toml").write_bytes((folder / "session.toml").read_bytes())
    with (source / "trail.csv").open("w", encoding="utf-8", newline="") as file:
        csv.writer(file, lineterminator="\n").writerows([COLUMNS, *rows])
    found = verify_session(Disk(), with_cell(source, tmp_path / "nine", row, "agree"))
    assert any(
        "memory number 9 is said to agree, the record expects 7" in each.what for each in found.problems
    )
