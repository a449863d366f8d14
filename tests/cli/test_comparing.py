"""``fieldtui compare`` and ``fieldtui trend`` as they are typed: answers, exit codes, wrong use."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest

from fieldtui.cli import main
from fieldtui.desk.transcription import paper_brief, transcribe_sheet
from tests.desk.session_maker import HEADER, ROUTE, SessionMaker, StillClock

WIDTH = 80


@pytest.fixture
def maker(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> SessionMaker:
    monkeypatch.chdir(tmp_path)
    return SessionMaker(tmp_path)


class Said:
    """What a command printed and how it ended."""

    def __init__(self, capsys: pytest.CaptureFixture[str], *argv: str) -> None:
        self.code = main(argv)
        self.out, self.err = capsys.readouterr()

    @property
    def json(self) -> Any:
        return json.loads(self.out)

    @property
    def widest(self) -> int:
        return max(len(line) for line in self.out.splitlines())


def years(maker: SessionMaker, *values: str, first: int = 2021) -> list[str]:
    return [
        maker.make(f"{first + index}-05-04", SW_01=value, SW_02="1.00").name
        for index, value in enumerate(values)
    ]


def test_compare_says_what_got_worse_and_ends_with_1(
    maker: SessionMaker, capsys: pytest.CaptureFixture[str]
) -> None:
    old, new = years(maker, "1.38", "2.61")
    said = Said(capsys, "compare", old, new)
    assert said.code == 1
    assert said.widest <= WIDTH
    assert (
        "Worse: 1\n"
        "--------\n"
        "SW-01  Jumper SW-01\n"
        "    1.38 mΩ pass -> 2.61 mΩ fail, limit <= 2.5 mΩ\n"
        "    real: +1.23 mΩ, ratio 1.89, no uncertainty stated, steps allow 0.02 mΩ\n"
    ) in said.out
    assert said.out.endswith("3 points: 1 worse, 1 not read, 1 same; 1 missing or turned into fail\n")


def test_a_survey_that_only_got_better_ends_with_0(
    maker: SessionMaker, capsys: pytest.CaptureFixture[str]
) -> None:
    old, new = years(maker, "1.38", "1.20")
    said = Said(capsys, "compare", old, new)
    assert said.code == 0
    assert "Better: 1" in said.out and "Worse" not in said.out


REWORKED = """
[[points]]
id = "SW-01"
section = "SW"
title = "Jumper SW-01"
limit = { max = 2.5 }
retest = { max = 2.0 }
"""


def five_repairs(maker: SessionMaker) -> list[str]:
    """P3 of five years: found 2.60, 2.60, 2.61, then 2.40, then 2.70; each failure repaired to 1.90."""
    found = {"2020": "2.60", "2021": "2.60", "2022": "2.61", "2023": "2.40", "2024": "2.70"}
    names = []
    route = maker.workspace.root / "routes" / "wing.toml"
    for year, value in found.items():
        lines = [f"reading,SW-01,1,{value},mohm,,,,{year}-05-04T08:00:00Z"]
        if value != "2.40":
            lines += [f"paper,SW-01,,,,,D-{year},,", "rework,SW-01,,,,,cleaned,,"]
            lines += [f"reading,SW-01,2,1.90,mohm,,,,{year}-05-04T09:00:00Z"]
        route.write_text(ROUTE.format(asset="ZX-41", revision="B") + REWORKED, encoding="utf-8")
        loaded = maker.workspace.load_route("wing")
        brief = paper_brief(maker.workspace.tables(), loaded.route)
        data = (HEADER + "\n".join(lines) + "\n").encode()
        names.append(
            transcribe_sheet(maker.workspace, loaded, data, "sheet.csv", brief, StillClock()).folder.name
        )
    return names


def test_what_failed_and_was_repaired_counts_as_failed(
    maker: SessionMaker, capsys: pytest.CaptureFixture[str]
) -> None:
    names = five_repairs(maker)
    said = Said(capsys, "trend", "sessions")
    told = " ".join(said.out.split())
    assert "Failed in more than one survey: 1" in said.out
    assert "failed in 4 of 5 surveys, limit <= 2.5 mΩ; 1.90 mΩ 2020-05-04 to 1.90 mΩ pass" in told
    (route,) = Said(capsys, "trend", "sessions", "--json").json["routes"]
    (point,) = route["points"]
    assert (point["surveys"], point["failed"]) == (5, 4)
    # 1.90 of the 2.0 that judged it is 0.95
    assert (point["limit"], point["judged_by"]) == ("<= 2.5 mohm", "<= 2.0 mohm")
    assert point["share_of_limit"] == pytest.approx(0.95)
    for asked in (["sessions", "--point", "SW-01"], names):
        told = " ".join(Said(capsys, "trend", *asked).out.split())
        assert "last 1.90 mΩ pass, limit <= 2.0 mΩ after rework, at first <= 2.5 mΩ" in told


def test_compare_tells_a_failure_that_was_repaired(
    maker: SessionMaker, capsys: pytest.CaptureFixture[str]
) -> None:
    *_, before, last = five_repairs(maker)
    said = Said(capsys, "compare", before, last)
    assert said.code == 1
    assert said.widest <= WIDTH
    told = " ".join(said.out.split())
    assert "Failed and repaired: 1" in said.out and "Better" not in said.out
    assert "1.90 mΩ pass, limit <= 2.0 mΩ after rework, of the old value <= 2.5 mΩ" in told
    assert "new: as found 2.70 mΩ fail" in told
    assert "the limit changed" not in told
    assert told.endswith("1 point: 1 failed and repaired; 1 missing, failed and repaired or turned into fail")
    (point,) = Said(capsys, "compare", before, last, "--json").json["points"]
    assert (point["change"], point["finding"], point["limit_changed"]) == ("failed and repaired", True, False)


def test_compare_answers_as_json(maker: SessionMaker, capsys: pytest.CaptureFixture[str]) -> None:
    old, new = years(maker, "1.380", "2.61")
    said = Said(capsys, "compare", old, new, "--json")
    point = said.json["points"][0]
    assert (said.code, said.json["ok"], said.json["counts"]["worse"]) == (1, False, 1)
    assert (point["old"]["value"], point["old"]["unit"], point["new"]["verdict"]) == ("1.380", "mohm", "fail")
    assert point["evidence"]["difference_ohm"] == "0.001230"
    assert (point["evidence"]["real"], point["evidence"]["e_n"]) == (True, None)


def test_a_changed_limit_and_a_missing_point_are_told(
    maker: SessionMaker, capsys: pytest.CaptureFixture[str]
) -> None:
    old = maker.make("2025-05-04", SW_01="1.38", SW_02="1.00").name
    new = maker.make("2026-05-04", limit="2.0", points="SW-01 SW-03", SW_01="1.38").name
    said = Said(capsys, "compare", old, new)
    assert said.code == 1
    assert "    the limit changed from <= 2.5 mΩ to <= 2.0 mΩ\n" in said.out
    assert "    old 1.00 mΩ pass\n    new not on the route\n" in said.out


@pytest.mark.parametrize("count", [1, 3])
def test_compare_wants_two(count: int, maker: SessionMaker, capsys: pytest.CaptureFixture[str]) -> None:
    said = Said(capsys, "compare", *["x"] * count)
    assert said.code == 2
    assert f"given: {count}\n" in said.err and "compare OLD NEW" in said.err


def test_a_session_that_is_not_there(maker: SessionMaker, capsys: pytest.CaptureFixture[str]) -> None:
    (there,) = years(maker, "1.38")
    assert Said(capsys, "compare", there, "nowhere").code == 2
    assert Said(capsys, "trend", "nowhere").code == 2
    assert Said(capsys, "compare", "--merge", "nowhere").code == 2


def test_merge_lists_conflicts_and_what_is_open(
    maker: SessionMaker, capsys: pytest.CaptureFixture[str]
) -> None:
    maker.make("2026-05-04", SW_01="1.38")
    maker.make("2026-05-04", SW_01="2.61")
    said = Said(capsys, "compare", "--merge", "sessions")
    assert said.code == 1
    assert said.widest <= WIDTH
    assert (
        "Conflicts: 1\n"
        "------------\n"
        "SW-01  Jumper SW-01  settled differently\n"
        "    S1 passed 1.38 mΩ\n"
        "    S2 failed 2.61 mΩ\n"
    ) in said.out
    assert "Not settled: 2\n" in said.out
    assert said.out.endswith("3 points: 2 open, 1 failed\n")


def test_a_whole_coverage_ends_with_0(maker: SessionMaker, capsys: pytest.CaptureFixture[str]) -> None:
    one = maker.make("2026-05-04", SW_01="1.38", SW_02="1.40").name
    two = maker.make("2026-05-04", SW_03="1.00").name
    said = Said(capsys, "compare", "--merge", one, two, "--json")
    assert (said.code, said.json["ok"]) == (0, True)
    assert {each["point"]: each["settled_by"] for each in said.json["points"]} == {
        "SW-01": [one],
        "SW-02": [one],
        "SW-03": [two],
    }


def test_trend_says_the_date_and_its_reason_where_there_is_none(
    maker: SessionMaker, capsys: pytest.CaptureFixture[str]
) -> None:
    said = Said(capsys, "trend", *years(maker, "1.50", "1.70", "1.90", "2.10"))
    assert said.code == 0
    assert said.widest <= WIDTH
    assert "LIMIT 2.5 mΩ reached about 2026-05-" in said.out
    assert "slope +0.200 mΩ a year" in said.out
    assert "SW-02  Jumper SW-02  4 surveys, 2021-05-04 to 2024-05-04\n" in said.out
    assert "    no date: the slope cannot be told from zero\n" in said.out


def test_three_surveys_carry_no_date(maker: SessionMaker, capsys: pytest.CaptureFixture[str]) -> None:
    said = Said(capsys, "trend", *years(maker, "1.50", "1.70", "1.90"), "--point", "SW-01")
    assert said.code == 0
    assert "no date: fewer than 4 surveys" in said.out
    assert "LIMIT" not in said.out and "SW-02" not in said.out


def test_trend_answers_as_json(maker: SessionMaker, capsys: pytest.CaptureFixture[str]) -> None:
    names = years(maker, "1.50", "1.70", "1.90", "2.10")
    said = Said(capsys, "trend", "sessions", "--point", "SW-01", "--json")
    (point,) = said.json["routes"][0]["points"]
    assert [sample["session"] for sample in point["samples"]] == names
    assert [sample["value"] for sample in point["samples"]] == ["1.50", "1.70", "1.90", "2.10"]
    assert (point["significant"], point["no_date_because"]) == (True, None)
    assert point["forecast"]["reached"].startswith("2026-05-")
    assert point["least_squares_ohm_per_day"] * 365.25 == pytest.approx(0.0002, rel=1e-3)


def test_help_says_how_parallel_crews_merge(capsys: pytest.CaptureFixture[str]) -> None:
    said = Said(capsys, "compare", "--help")
    assert said.code == 0
    assert "fieldtui compare --merge [--json] SESSION ..." in said.out
    assert said.widest <= WIDTH
