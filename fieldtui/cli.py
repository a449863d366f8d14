"""The command line: arguments in, standard output and error out, and the exit code.

Exit codes: 0 done; 1 findings (a failed check, a broken chain) or a medium that failed; 2 wrong use
or bad input. Everything heavy is imported by the command that needs it.
"""

from __future__ import annotations

import argparse
import io
import json
import os
import sys
from collections.abc import Callable, Iterable, Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any, TextIO

from fieldtui import __version__
from fieldtui.core.text import visible
from fieldtui.errors import BadInputError, FieldtuiError, Problem, SessionDamagedError, WrongUseError

if TYPE_CHECKING:
    from fieldtui.desk.clock import SystemClock
    from fieldtui.desk.reading import ReadSession
    from fieldtui.desk.workspace import Workspace
    from fieldtui.files.disk import Disk

Command = Callable[[argparse.Namespace], int]

_EXAMPLES = """\
examples:
  fieldtui                                 the start screen of the workspace in this folder
  fieldtui practice                        learn the walk on the demo scenario
  fieldtui route check routes/*.toml       every problem of every route
  fieldtui walk starboard-wing             brief, then walk
  fieldtui resume                          go on with the session left open last
  fieldtui verify sessions/NAME --json     is the record whole and unchanged?
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a console that cannot show Ω shows its code
            stream.reconfigure(errors="backslashreplace")
    try:
        arguments = _parser().parse_args(argv)
    except SystemExit as stop:  # argparse has said why
        return stop.code if isinstance(stop.code, int) else 2
    run: Command = arguments.run
    try:
        return run(arguments)
    except FieldtuiError as error:
        _print_error(error, as_json=getattr(arguments, "json", False))
        return error.exit_code
    except BrokenPipeError:
        # Whoever read our output went away; nothing is left to say, and nowhere to say it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        return 0
    except KeyboardInterrupt:
        return 130
    except Exception as error:  # the last door: a person never sees a traceback
        if os.environ.get("FIELDTUI_TRACEBACK"):
            raise
        name = type(error).__name__
        remedy = "set FIELDTUI_TRACEBACK=1 and run it again to see where; what was recorded is on the disk"
        _print_error(FieldtuiError(f"the program met something it did not expect: {name}", remedy=remedy))
        return 2


# --- commands -----------------------------------------------------------------------------


def _start(arguments: argparse.Namespace) -> int:
    from fieldtui.ui.app import run_start

    return run_start(_workspace(), _clock())


def _walk(arguments: argparse.Namespace) -> int:
    workspace = _workspace(arguments.route)
    route = workspace.load_route(arguments.route)
    from fieldtui.ui.app import run_walk

    return run_walk(workspace, route, _clock())


def _resume(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.opening import find_session, resume_session

    workspace = _workspace()
    if arguments.session is not None:
        folder = find_session(workspace.disk, workspace, arguments.session)
    else:
        still_open = [each.folder for each in workspace.sessions() if not each.is_closed]
        if not still_open:
            raise WrongUseError(
                "No session is open here",
                where=str(workspace.sessions_folder),
                remedy="start one with: fieldtui walk ROUTE",
            )
        folder = still_open[0]
    desk = resume_session(workspace, folder, _clock())
    from fieldtui.ui.app import run_resumed

    return run_resumed(workspace, desk, _clock())


def _review(arguments: argparse.Namespace) -> int:
    session = _read(arguments.session)
    from fieldtui.ui.app import run_review

    return run_review(_workspace(), session, _clock())


def _practice(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.practice import make_practice
    from fieldtui.desk.reading import read_session
    from fieldtui.report.text_summary import format_summary
    from fieldtui.ui.practice import run_practice

    workspace = make_practice(_disk(), Path(arguments.dir) if arguments.dir else None)
    ended = run_practice(workspace, _clock(), is_auto=arguments.auto, is_headless=arguments.headless)
    if ended.folder is None:
        print(f"no session was begun; the practice workspace lies in {visible(str(workspace.root))}")
        return 0
    print(format_summary(read_session(workspace.disk, ended.folder)))
    print(f"the practice session lies in {visible(str(ended.folder))}")
    if ended.stuck_at is not None:
        print(f"the script got stuck at {ended.stuck_at.at or 'the end'}: {ended.stuck_at.does}")
        return 1
    return 0


def _route_check(arguments: argparse.Namespace) -> int:
    problems: list[Problem] = []
    for file in arguments.files:
        problems += _workspace(file).check_route(file)
    errors = sum(problem.severity == "error" for problem in problems)
    if arguments.json:
        listed = [problem.as_json() for problem in problems]
        _print_json({"ok": not errors, "files": arguments.files, "problems": listed})
    else:
        _print_problems(problems, sys.stdout)
        files = len(arguments.files)
        print(
            f"{_count(files, 'route')} checked: {_count(errors, 'error')}, "
            f"{_count(len(problems) - errors, 'warning')}"
        )
    return 1 if errors else 0


def _transcribe(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.transcription import paper_brief, transcribe_sheet
    from fieldtui.files.sheet import MAX_BYTES

    workspace = _workspace(arguments.route, out=arguments.out)
    route = workspace.load_route(arguments.route)
    brief = paper_brief(
        workspace.tables(),
        route.route,
        meter=arguments.meter,
        job=arguments.job,
        prober=arguments.prober,
        recorder=arguments.recorder,
    )
    data = workspace.disk.read_file(Path(arguments.sheet), MAX_BYTES)
    made = transcribe_sheet(workspace, route, data, arguments.sheet, brief, _clock())
    counts = {state.value: count for state, count in made.survey.counts.items()}
    if arguments.json:
        _print_json(
            {
                "session": str(made.folder),
                "readings": len(made.survey.records),
                "points": counts,
                "alarms": [],
                "suspects": [suspect.as_json() for suspect in made.suspects],
            }
        )
        return 0
    print(f"session  {visible(str(made.folder))}")
    print(f"readings {len(made.survey.records)}")
    print("points   " + ", ".join(f"{count} {word}" for word, count in counts.items() if count))
    for suspect in made.suspects:
        print(f"look at record {suspect.record}: {visible(suspect.why)}")
    return 0


def _reconcile(arguments: argparse.Namespace) -> int:
    from fieldtui.desk import reconciling
    from fieldtui.desk.opening import resume_session
    from fieldtui.files.csv_lines import MAX_BYTES
    from fieldtui.files.memory_list import parse_memory_list

    session = _read(arguments.session)
    data = _disk().read_file(Path(arguments.list), MAX_BYTES)
    memory = parse_memory_list(data, arguments.list, session.facts.instrument.unit)
    pairing = reconciling.reconcile(session.survey, memory)
    applied = 0
    if arguments.accept == "certain":
        with resume_session(_workspace(), session.folder, _clock()) as desk:
            applied = reconciling.take_over(desk, pairing, memory, Path(arguments.list).name)
    if arguments.json:
        _print_json(reconciling.as_json(pairing, applied))
    else:
        for line in reconciling.format_findings(pairing):
            print(visible(line))
        if applied:
            print(f"{_count(applied, 'amendment')} appended; every first form stays on record")
    return 1 if reconciling.is_strange(pairing) else 0


def _verify(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.verifying import verify_session

    verified = verify_session(_disk(), _session_folder(arguments.session))
    if arguments.json:
        _print_json(verified.as_json())
    else:
        _print_problems(verified.problems, sys.stdout)
        print(
            f"{'intact' if verified.ok else 'NOT intact'}: {_count(verified.rows, 'row')}, "
            f"{_count(verified.readings, 'reading')}"
        )
        print(f"seal {verified.seal or 'none'}")
    return 0 if verified.ok else 1


def _report(arguments: argparse.Namespace) -> int:
    from fieldtui.report.writing import write_report

    session = _read(arguments.session)
    written = write_report(_disk(), session, Path(arguments.out) if arguments.out else session.folder)
    if arguments.json:
        _print_json({"session": str(session.folder), "files": [str(path) for path in written.files]})
    else:
        print(written.summary)
        for path in written.files:
            print(f"wrote {visible(str(path))}")
    return 0


def _compare(arguments: argparse.Namespace) -> int:
    if arguments.merge:
        return _merge(arguments)
    if len(arguments.sessions) != 2:
        raise WrongUseError(
            f"Compare takes two sessions, {len(arguments.sessions)} were given",
            remedy="fieldtui compare OLD NEW, or fieldtui compare --merge SESSION... for parallel crews",
        )
    from fieldtui.desk.comparing import compare_sessions
    from fieldtui.report.comparison_text import format_comparison
    from fieldtui.report.history_json import comparison_as_json

    old, new = arguments.sessions
    compared = compare_sessions(_read(old), _read(new))
    if arguments.json:
        _print_json(comparison_as_json(compared))
    else:
        print(format_comparison(compared), end="")
    return 1 if compared.has_findings else 0


def _merge(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.comparing import merge_sessions
    from fieldtui.desk.reading import read_session
    from fieldtui.desk.sources import find_folders
    from fieldtui.report.coverage_text import format_coverage
    from fieldtui.report.history_json import coverage_as_json

    workspace = _workspace()
    folders = find_folders(workspace, arguments.sessions)
    merged = merge_sessions([read_session(workspace.disk, folder) for folder in folders])
    if arguments.json:
        _print_json(coverage_as_json(merged))
    else:
        print(format_coverage(merged), end="")
    return 1 if merged.has_findings else 0


def _trend(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.comparing import follow_sessions
    from fieldtui.report.history_json import trends_as_json
    from fieldtui.report.trend_text import format_trends

    followed = follow_sessions(_workspace(), arguments.sessions, point=arguments.point)
    if arguments.json:
        _print_json(trends_as_json(followed))
    else:
        print(format_trends(followed), end="")
    return 0


# --- arguments ----------------------------------------------------------------------------


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="fieldtui",
        description="Take bonding and grounding resistance readings along a planned route, and never lose "
        "which reading belongs to which point.",
        epilog=_EXAMPLES,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"fieldtui {__version__}")
    parser.set_defaults(run=_start)
    commands = parser.add_subparsers(title="commands", metavar="")

    walk = _command(commands, "walk", _walk, "brief, then walk a route")
    walk.add_argument("route", help="a name in routes/, or the path of a route file")
    resume = _command(commands, "resume", _resume, "go on with an open session")
    resume.add_argument("session", nargs="?", help="its folder or name; the last open one if left out")
    review = _command(commands, "review", _review, "look at a session, read-only")
    review.add_argument("session", help="its folder or name")

    practice = _command(commands, "practice", _practice, "the demo scenario with a scripted prober")
    practice.add_argument("--auto", action="store_true", help="play it unattended through the same screens")
    practice.add_argument("--headless", action="store_true", help="with --auto: without a visible terminal")
    practice.add_argument(
        "--dir", help="where to make the practice workspace (a temporary folder if left out)"
    )

    route = commands.add_parser("route", help="work on route files").add_subparsers(metavar="", required=True)
    check = _command(route, "check", _route_check, "every problem of route files")
    check.add_argument("files", nargs="+", metavar="FILE", help="route files, or names in routes/")
    _add_json(check)

    transcribe = _command(commands, "transcribe", _transcribe, "make a session from a paper capture sheet")
    transcribe.add_argument("route", help="a name in routes/, or the path of a route file")
    transcribe.add_argument(
        "sheet", help="the sheet as CSV: action,point,record,value,unit,memory,reason,note,time"
    )
    transcribe.add_argument("--out", metavar="DIR", help="where sessions are kept (sessions/ if left out)")
    transcribe.add_argument("--meter", default="", help="id of the meter in instruments.toml")
    transcribe.add_argument("--job", default="", help="job card or order")
    transcribe.add_argument("--prober", default="", help="who held the probes")
    transcribe.add_argument("--recorder", default="", help="who wrote the sheet")
    _add_json(transcribe)

    reconcile = _command(commands, "reconcile", _reconcile, "hold the record against the meter's memory list")
    reconcile.add_argument("session", help="its folder or name")
    reconcile.add_argument("list", help="the memory list as CSV: run,number,value,unit,state")
    reconcile.add_argument(
        "--accept", choices=["certain"], help="append what is certain as amendments (posterior 0.999 or more)"
    )
    _add_json(reconcile)
    verify = _command(commands, "verify", _verify, "is a session's record whole and unchanged?")
    verify.add_argument("session", help="its folder or name")
    _add_json(verify)
    report = _command(commands, "report", _report, "write results.csv and a plain-text summary")
    report.add_argument("session", help="its folder or name")
    report.add_argument("--out", metavar="DIR", help="write there instead of beside the session's files")
    _add_json(report)

    compare = _command(
        commands,
        "compare",
        _compare,
        "what changed between two sessions; or parallel sessions as one",
        "Hold two sessions against each other by point id: worse, better, missing, and whether a difference "
        "is more than the two meters explain. With --merge: several sessions of one route, by parallel "
        "crews, as one coverage, conflicts and points not settled first. Exit code 1 where a point is "
        "missing or turned into fail; with --merge where there is a conflict or a point not settled.",
    )
    compare.usage = "fieldtui compare [--json] OLD NEW\n       fieldtui compare --merge [--json] SESSION ..."
    compare.add_argument("sessions", nargs="+", metavar="SESSION", help="its folder or name")
    compare.add_argument(
        "--merge", action="store_true", help="put sessions of one route together (or a folder of them)"
    )
    _add_json(compare)
    trend = _command(
        commands,
        "trend",
        _trend,
        "how points move over sessions, and when a limit would be reached",
        "Least-squares line and median of slopes of every point over its sessions. A date is said only from "
        "four surveys on, with a slope significantly away from zero, and no further ahead than twice the "
        "time surveyed; otherwise why not.",
    )
    trend.add_argument(
        "sessions", nargs="+", metavar="SESSION", help="its folder or name, or a folder of sessions"
    )
    trend.add_argument("--point", metavar="ID", default="", help="only this point")
    _add_json(trend)
    return parser


def _command(
    commands: Any, name: str, run: Command, summary: str, description: str = ""
) -> argparse.ArgumentParser:
    parser: argparse.ArgumentParser = commands.add_parser(
        name, help=summary, description=description or summary
    )
    parser.set_defaults(run=run)
    return parser


def _add_json(parser: argparse.ArgumentParser) -> None:
    parser.add_argument("--json", action="store_true", help="answer as JSON")


# --- parts --------------------------------------------------------------------------------


def _disk() -> Disk:
    from fieldtui.files.disk import Disk

    return Disk()


def _clock() -> SystemClock:
    from fieldtui.desk.clock import SystemClock

    return SystemClock()


def _workspace(route: str = "", out: str | None = None) -> Workspace:
    """The workspace of this folder, or of a route file that lies in another one."""
    from fieldtui.desk.workspace import find_workspace

    return find_workspace(Path.cwd(), _disk(), route, Path(out) if out else None)


def _session_folder(ref: str) -> Path:
    from fieldtui.desk.opening import find_session

    workspace = _workspace()
    return find_session(workspace.disk, workspace, ref)


def _read(ref: str) -> ReadSession:
    from fieldtui.desk.reading import read_session

    return read_session(_disk(), _session_folder(ref))


def _print_json(answer: object) -> None:
    print(json.dumps(answer, indent=2))


def _print_problems(problems: Iterable[Problem], stream: TextIO) -> None:
    for problem in problems:
        place = f"{problem.where}: " if problem.where else ""
        print(visible(f"{place}{problem.severity}: {problem.what}"), file=stream)
        if problem.remedy:
            print(visible(f"    {problem.remedy}"), file=stream)


def _print_error(error: FieldtuiError, *, as_json: bool = False) -> None:
    problems = error.problems if isinstance(error, BadInputError | SessionDamagedError) else ()
    if as_json:
        listed = [problem.as_json() for problem in problems]
        _print_json(
            {
                "ok": False,
                "error": error.what,
                "where": error.where,
                "remedy": error.remedy,
                "problems": listed,
            }
        )
    print(visible(f"fieldtui: {error.what}"), file=sys.stderr)
    if error.where:
        print(visible(f"  where: {error.where}"), file=sys.stderr)
    if error.remedy:
        print(visible(f"  do: {error.remedy}"), file=sys.stderr)
    _print_problems(problems, sys.stderr)


def _count(number: int, word: str) -> str:
    return f"{number} {word}{'' if number == 1 else 's'}"
