"""Trends over a fleet by query, beside reading its sessions one by one; as a ratio in the same run.

Run by hand: ``python -m tests.bench.fleet [--sessions 2000]``. Simulated crews, invented points.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unittest.mock import patch

from fieldtui.desk.comparing import Followed, follow_sessions
from fieldtui.desk.fleet import follow_fleet
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.files.session.file import parse_session
from fieldtui.files.session.snapshots import SnapshotReader
from fieldtui.report.between.history_json import trends_as_json
from tests.desk.fleet_maker import CALM, Chances, make_fleet

_SURVEYS = 20  # of each asset
_POINTS = 40


def _timed(deed: Callable[[], Any]) -> tuple[float, Any]:
    start = time.process_time()  # others work on this machine, too
    answer = deed()
    return time.process_time() - start, answer


def _by_route(followed: Followed) -> list[str]:
    answer: Any = trends_as_json(followed)
    return sorted(json.dumps(route) for route in answer["routes"])


def _compare(name: str, sessions: int, odds: Chances) -> None:
    with tempfile.TemporaryDirectory(prefix="fleet-") as place:
        root = Path(place)
        make_fleet(root, 1, assets=max(1, sessions // _SURVEYS), surveys=_SURVEYS, points=_POINTS, odds=odds)
        rows = sum(path.read_bytes().count(b"\n") - 1 for path in root.rglob("trail.csv"))
        whole, reference = _timed(lambda: _one_by_one(root, is_shared=False))
        shared, _ = _timed(lambda: _one_by_one(root, is_shared=True))
        by_query, fleet = _timed(lambda: follow_fleet(Disk(), [root]))
        ours = Followed(tuple(route.trends for route in fleet.routes), ())
        same = _by_route(ours) == _by_route(reference)
        sys.stdout.write(
            f"{name}: {fleet.sessions} sessions, {rows} rows, {sum(fleet.read_singly.values())} read singly\n"
            f"  by query / one by one, every session.toml parsed whole = {by_query / whole:.2f}\n"
            f"  by query / one by one, a route's snapshots parsed once = {by_query / shared:.2f}\n"
            f"  the same trends: {'yes' if same else 'NO'}\n"
        )


def _one_by_one(root: Path, *, is_shared: bool) -> Followed:
    with patch("fieldtui.desk.comparing.SnapshotReader", SnapshotReader if is_shared else _Whole):
        return follow_sessions(Workspace(root, Disk()), [str(root)])


class _Whole:
    """Parses every session.toml whole."""

    parse = staticmethod(parse_session)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--sessions", type=int, default=2000)
    sessions = parser.parse_args().sessions
    _compare("calm walks", sessions, CALM)
    _compare("1 in 50 readings moved or unplanned", sessions, Chances(moved=0.01, insert=0.01))


if __name__ == "__main__":
    main()
