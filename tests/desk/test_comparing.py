"""Sessions on disk held against each other; nothing of them is touched."""

from __future__ import annotations

import shutil
from decimal import Decimal
from pathlib import Path

import pytest

from fieldtui.core.between.comparison import Change
from fieldtui.core.between.coverage import Conflict
from fieldtui.core.between.trend import Withheld
from fieldtui.core.measurement.ohms import Resistance, Unit
from fieldtui.core.measurement.uncertainty import Accuracy
from fieldtui.core.survey.position import State
from fieldtui.desk.comparing import compare_sessions, follow_sessions, merge_sessions
from fieldtui.desk.reading import read_session
from fieldtui.desk.sources import find_folders
from fieldtui.errors import BadInputError, WrongUseError
from fieldtui.files.disk import Disk
from tests.desk.session_maker import SessionMaker


@pytest.fixture
def maker(tmp_path: Path) -> SessionMaker:
    return SessionMaker(tmp_path)


def five_years(maker: SessionMaker) -> list[Path]:
    """SW-01 rises by 0.2 a year and SW-02 stands still."""
    values = {"2021": "1.50", "2022": "1.70", "2023": "1.90", "2024": "2.10", "2025": "2.30"}
    return [maker.make(f"{year}-05-04", SW_01=value, SW_02="1.00") for year, value in values.items()]


# --- two compared -------------------------------------------------------------------------


def test_two_surveys_of_a_wing(maker: SessionMaker) -> None:
    old = maker.read("2025-05-04", SW_01="1.38", SW_02="2.10", SW_03="1.00")
    new = maker.read("2026-05-04", "skip,SW-03,,,,,rain,,2026-05-04T08:50:00Z", SW_01="1.38", SW_02="2.61")
    found = compare_sessions(old, new)
    assert {each.point: each.change for each in found.differences} == {
        "SW-01": Change.SAME,
        "SW-02": Change.WORSE,
        "SW-03": Change.MISSING,
    }
    assert found.has_findings
    assert found.notes[0].startswith("no uncertainty stated by the meter of OLD and NEW")


def test_digits_stay_as_keyed(maker: SessionMaker) -> None:
    session = maker.read("2025-05-04", SW_01="1.380")
    (first, *_) = compare_sessions(session, session).differences
    assert first.old is not None and first.old.reading is not None
    assert first.old.reading.value.digits == "1.380"


def test_a_meter_that_states_its_accuracy_is_held_to_it(maker: SessionMaker) -> None:
    """1 % and 0.02 mohm at k = 2, steps of 0.01: U of 2.00 mohm is 0.04041 mohm."""
    accuracy = Accuracy(Decimal(1), Resistance(Decimal("0.02"), Unit.MOHM))
    old = maker.read("2025-05-04", SW_01="2.00", SW_02="2.00")
    new = maker.read("2026-05-04", SW_01="2.05", SW_02="2.06")
    found = compare_sessions(old, new, {old.facts.instrument.id: accuracy})
    one, two, _ = [each.evidence for each in found.differences]
    assert one is not None and one.e_n is not None and two is not None and two.e_n is not None
    assert [each.is_real for each in (one, two)] == [False, True]
    assert float(one.e_n) == pytest.approx(0.05 / (0.04041**2 + 0.04091**2) ** 0.5, rel=1e-3)
    assert not any("uncertainty" in note for note in found.notes)


def test_what_the_two_sessions_do_not_share_is_said(maker: SessionMaker) -> None:
    late = maker.read("2026-05-04", SW_01="1.38")
    early = maker.read("2025-05-04", route="tail", asset="glider ZX-9", revision="C", SW_01="1.38")
    notes = "\n".join(compare_sessions(late, early).notes)
    assert "OLD was started after NEW" in notes
    assert "two routes: wing and tail" in notes
    assert "two assets: amphibious twin ZX-41 and glider ZX-9" in notes
    assert "revision changed from B to C" in notes


def test_a_trail_that_was_edited_is_said(maker: SessionMaker) -> None:
    folder = maker.make("2025-05-04", SW_01="1.38", SW_02="1.40")
    trail = folder / "trail.csv"
    trail.write_bytes(trail.read_bytes().replace(b"1.40", b"1.41"))
    session, other = read_session(Disk(), folder), maker.read("2026-05-04", SW_01="1.38")
    assert any("NOT intact" in note for note in compare_sessions(session, other).notes)


# --- merged -------------------------------------------------------------------------------


def test_parallel_crews_make_one_coverage(maker: SessionMaker) -> None:
    one = maker.read("2026-05-04", SW_01="1.38", SW_02="1.40")
    two = maker.read("2026-05-04", SW_02="2.60", SW_03="1.00")
    merged = merge_sessions([one, two])
    assert [(each.point, each.state) for each in merged.points] == [
        ("SW-01", State.PASSED),
        ("SW-02", State.FAILED),
        ("SW-03", State.PASSED),
    ]
    assert [each.conflicts for each in merged.points] == [(), (Conflict.STATES,), ()]
    assert [part.session for part in merged.points[2].settled_by] == [two.facts.id]
    assert merged.has_findings


def test_a_full_coverage_without_conflict_has_no_findings(maker: SessionMaker) -> None:
    one = maker.read("2026-05-04", SW_01="1.38", SW_02="1.40")
    two = maker.read("2026-05-04", SW_03="1.00")
    assert not merge_sessions([one, two]).has_findings
    assert merge_sessions([one]).has_findings  # SW-03 is open


def test_sessions_of_two_routes_do_not_merge(maker: SessionMaker) -> None:
    sessions = [maker.read("2026-05-04", SW_01="1.38"), maker.read("2026-05-04", route="tail", SW_01="1.38")]
    with pytest.raises(WrongUseError, match="different routes"):
        merge_sessions(sessions)


def test_a_session_does_not_merge_with_itself(maker: SessionMaker) -> None:
    session = maker.read("2026-05-04", SW_01="1.38")
    with pytest.raises(WrongUseError, match="twice"):
        merge_sessions([session, session])


# --- followed -----------------------------------------------------------------------------


def test_a_folder_of_sessions_is_followed(maker: SessionMaker) -> None:
    five_years(maker)
    (route,) = follow_sessions(maker.workspace, [str(maker.folder)]).routes
    rising, still = route.trends
    assert rising.forecast is not None and rising.forecast.reached.year == 2026
    assert (still.forecast, still.withheld) == (None, Withheld.FLAT)


def test_names_paths_and_folders_mean_the_same_sessions(maker: SessionMaker) -> None:
    folders = five_years(maker)
    refs = [folders[1].name, str(folders[1]), str(maker.folder)]
    found = find_folders(maker.workspace, refs)
    assert found == [folders[1], folders[0], *folders[2:]]


def test_a_copy_of_a_session_counts_once(maker: SessionMaker) -> None:
    folders = five_years(maker)
    shutil.copytree(folders[0], maker.folder / "zz-copy")
    found = follow_sessions(maker.workspace, [str(maker.folder)])
    assert [len(trend.samples) for trend in found.routes[0].trends] == [5, 5]
    assert [why.partition(": ")[2] for why in found.left_out] == [f"a second copy of {folders[0].name}"]


def test_a_session_that_cannot_be_read_is_left_out_and_told(maker: SessionMaker) -> None:
    folders = five_years(maker)
    (folders[2] / "session.toml").write_text("format = ")
    found = follow_sessions(maker.workspace, [str(maker.folder)])
    assert len(found.routes[0].sources) == 4
    assert folders[2].name in found.left_out[0]
    with pytest.raises(BadInputError):
        follow_sessions(maker.workspace, [str(folders[2]), str(folders[1])])


def test_each_route_and_asset_has_its_own_trends(maker: SessionMaker) -> None:
    maker.make("2024-05-04", SW_01="1.38")
    maker.make("2025-05-04", asset="glider ZX-9", SW_01="1.38")
    maker.make("2026-05-04", route="tail", SW_01="1.38")
    found = follow_sessions(maker.workspace, [str(maker.folder)])
    assert [len(route.trends[0].samples) for route in found.routes] == [1, 1, 1]


def test_one_point_alone(maker: SessionMaker) -> None:
    five_years(maker)
    found = follow_sessions(maker.workspace, [str(maker.folder)], point="SW-02")
    assert [trend.point for trend in found.routes[0].trends] == ["SW-02"]
    with pytest.raises(BadInputError, match="No session has a reading of SW-99"):
        follow_sessions(maker.workspace, [str(maker.folder)], point="SW-99")


def test_an_empty_folder_is_said(maker: SessionMaker) -> None:
    with pytest.raises(BadInputError, match="no session in this folder"):
        find_folders(maker.workspace, [str(maker.folder)])


# --- nothing is touched -------------------------------------------------------------------


def test_no_byte_and_no_time_of_a_session_changes(maker: SessionMaker) -> None:
    folders = five_years(maker)
    before = state_of(maker.workspace.root)
    sessions = [read_session(Disk(), folder) for folder in folders]
    compare_sessions(sessions[0], sessions[1])
    merge_sessions(sessions)
    follow_sessions(maker.workspace, [str(maker.folder)])
    assert state_of(maker.workspace.root) == before


def state_of(root: Path) -> dict[str, tuple[int, int, bytes]]:
    return {
        str(path): (
            path.stat().st_mtime_ns,
            path.stat().st_mode,
            path.read_bytes() if path.is_file() else b"",
        )
        for path in sorted(root.rglob("*"))
    }
