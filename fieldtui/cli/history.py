"""The commands about several sessions: compared, merged, followed over the years."""

from __future__ import annotations

import argparse
from typing import Any

from fieldtui.cli.answers import print_json
from fieldtui.cli.arguments import SESSION_HELP, add_command, add_json, add_session, count
from fieldtui.cli.places import known_session, open_workspace, read_ref
from fieldtui.errors import WrongUseError


def compare(arguments: argparse.Namespace) -> int:
    if arguments.merge:
        return merge(arguments)
    if len(arguments.sessions) != 2:
        raise WrongUseError(
            f"Compare takes two sessions; given: {len(arguments.sessions)}",
            remedy="fieldtui compare OLD NEW, or fieldtui compare --merge SESSION... for parallel crews",
        )
    from fieldtui.desk.comparing import compare_sessions
    from fieldtui.report.between.comparison_text import format_comparison
    from fieldtui.report.between.history_json import comparison_as_json

    old, new = arguments.sessions
    compared = compare_sessions(read_ref(old), read_ref(new))
    if arguments.json:
        print_json(comparison_as_json(compared))
    else:
        print(format_comparison(compared), end="")
    return 1 if compared.has_findings else 0


def merge(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.comparing import merge_sessions
    from fieldtui.desk.reading import read_session
    from fieldtui.desk.sources import find_folders
    from fieldtui.report.between.coverage_text import format_coverage
    from fieldtui.report.between.history_json import coverage_as_json

    workspace = open_workspace()
    folders = find_folders(workspace, arguments.sessions)
    merged = merge_sessions([read_session(workspace.disk, folder) for folder in folders])
    if arguments.json:
        print_json(coverage_as_json(merged))
    else:
        print(format_coverage(merged), end="")
    return 1 if merged.has_findings else 0


def trend(arguments: argparse.Namespace) -> int:
    if arguments.queries:
        from fieldtui.files.fleet.queries import all_queries

        print(all_queries(), end="")
        return 0
    if not arguments.sessions:
        raise WrongUseError("No session is named", remedy="fieldtui trend sessions, or name each session")
    from fieldtui.desk.sources import is_folder_of_sessions

    workspace = open_workspace()
    is_folder_named = any(is_folder_of_sessions(workspace, ref) for ref in arguments.sessions)
    if is_folder_named and not arguments.singly:
        return trend_by_queries(arguments)
    from fieldtui.desk.comparing import follow_sessions
    from fieldtui.report.between.history_json import trends_as_json
    from fieldtui.report.between.trend_text import format_trends

    followed = follow_sessions(workspace, arguments.sessions, point=arguments.point)
    if arguments.json:
        print_json(trends_as_json(followed))
    else:
        print(format_trends(followed), end="")
    return 0


def trend_by_queries(arguments: argparse.Namespace) -> int:
    """Over folders of sessions: all the fleet, worst first, or one point's own lines."""
    from fieldtui.desk.fleet import follow_fleet
    from fieldtui.report.between.fleet_json import fleet_as_json
    from fieldtui.report.between.fleet_text import format_fleet, format_point

    workspace = open_workspace()
    roots = [known_session(workspace, ref) for ref in arguments.sessions]
    found = follow_fleet(workspace.disk, roots, point=arguments.point)
    if arguments.json:
        print_json(fleet_as_json(found, arguments.most))
    elif arguments.point:
        print(format_point(found), end="")
    else:
        print(format_fleet(found, arguments.most), end="")
    return 0


def add_commands(commands: Any) -> None:
    """``compare`` and ``trend``."""
    parser = add_command(
        commands,
        "compare",
        compare,
        "what changed between two sessions; or parallel sessions as one",
        description="Hold two sessions against each other by point id: worse, better, missing, and whether a "
        "difference is more than the two meters explain. With --merge: several sessions of one route, by "
        "parallel crews, as one coverage, conflicts and points not settled first. Exit code 1 where a point "
        "is missing, turned into fail, or failed and was repaired; with --merge where there is a conflict "
        "or a point not settled.",
        examples="""
            fieldtui compare sessions/OLD sessions/NEW
            fieldtui compare --merge sessions/ONE sessions/OTHER
        """,
    )
    parser.usage = "fieldtui compare [--json] OLD NEW\n       fieldtui compare --merge [--json] SESSION ..."
    add_session(parser, "sessions", nargs="+", metavar="SESSION")
    parser.add_argument(
        "--merge", action="store_true", help="put sessions of one route together (or a folder of them)"
    )
    add_json(parser)

    parser = add_command(
        commands,
        "trend",
        trend,
        "how points move over sessions, and when a limit would be reached",
        description="Least-squares line and median of slopes of every point over its sessions. A date is "
        "said only from four surveys on, with a slope significantly away from zero, and no further ahead "
        "than twice the time surveyed; otherwise why not. Over a folder of sessions, thousands of them and "
        "however deep: which points failed again, are nearest to their limit, move towards it, by SQL "
        "straight on the files. That wants DuckDB: pip install '.[fleet]' in the program's folder. Sessions "
        "that are named, or a folder with --singly, are read one by one and want nothing.",
        examples="""
            fieldtui trend sessions                 a folder of sessions: worst points first
            fieldtui trend sessions --point SW-07   one point's lines
            fieldtui trend sessions/*_wing_*        named sessions: every point's lines
            fieldtui trend --singly sessions        the same of each session in a folder
            fieldtui trend --queries                the SQL that folders are answered with
        """,
    )
    parser.usage = (
        "fieldtui trend [--json] [--most N] [--point ID] FOLDER ...\n"
        "       fieldtui trend [--json] [--point ID] SESSION ...\n"
        "       fieldtui trend [--json] [--point ID] --singly FOLDER ...\n"
        "       fieldtui trend --queries"
    )
    add_session(
        parser, "sessions", nargs="*", metavar="SESSION", help=f"{SESSION_HELP}, or a folder of sessions"
    )
    parser.add_argument("--point", metavar="ID", default="", help="only this point, its lines in full")
    parser.add_argument(
        "--most",
        metavar="N",
        type=count,
        default=10,
        help="over a folder: points in a list (10 if left out)",
    )
    parser.add_argument(
        "--singly",
        action="store_true",
        help="read the sessions that lie in a folder one by one: every point's lines, without DuckDB",
    )
    parser.add_argument("--queries", action="store_true", help="print the SQL, for any engine that reads CSV")
    add_json(parser)
