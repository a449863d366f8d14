"""The commands that open a screen."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldtui.cli.answers import print_error
from fieldtui.cli.arguments import (
    SESSION_HELP,
    add_command,
    add_copy,
    add_hints,
    add_remarks,
    add_route,
    add_session,
)
from fieldtui.cli.places import hint_book, known_session, make_clock, make_disk, open_workspace, read_ref
from fieldtui.core.text import visible
from fieldtui.errors import SessionInUseError, WrongUseError

if TYPE_CHECKING:
    from fieldtui.desk.practice import Coach
    from fieldtui.desk.workspace import Workspace


def want_terminal() -> None:
    """Refuse to open a screen where nobody can see it.

    Raises:
        WrongUseError: input or output is not a terminal.
    """
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        raise WrongUseError(
            "The screens want a terminal, and there is none",
            remedy="run it in a terminal; verify, report, transcribe and route check need none",
        )


COMMANDS = ("walk", "resume", "review", "practice")


def start(arguments: argparse.Namespace) -> int:
    want_terminal()
    from fieldtui.ui.app import run_start

    return run_start(open_workspace(), make_clock(), hint_book(arguments))


def walk(arguments: argparse.Namespace) -> int:
    workspace = open_workspace(arguments.route, copy=arguments.copy)
    if arguments.sections is None:
        route = workspace.load_route(arguments.route)
    else:
        route = workspace.load_part(arguments.route, arguments.sections.split(","))
    want_terminal()
    from fieldtui.ui.app import run_walk

    return run_walk(workspace, route, make_clock(), hint_book(arguments))


def resume(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.opening import resume_session

    workspace = open_workspace(copy=arguments.copy)
    if arguments.session is not None:
        folder = known_session(workspace, arguments.session)
    else:
        left_open = workspace.left_open_last()
        if left_open is None:
            raise WrongUseError(
                "No session is open here",
                where=str(workspace.sessions_folder),
                remedy="start one with: fieldtui walk ROUTE",
            )
        folder = left_open.folder
    want_terminal()
    try:
        desk = resume_session(
            workspace, folder, make_clock(), recorder=arguments.recorder, prober=arguments.prober
        )
    except SessionInUseError as error:
        return look_instead(workspace, folder, error)
    from fieldtui.ui.app import run_resumed

    return run_resumed(workspace, desk, make_clock(), hint_book(arguments))


def look_instead(workspace: Workspace, folder: Path, error: SessionInUseError) -> int:
    """Another program writes the session: say so, and offer the read-only view."""
    from fieldtui.desk.reading import read_session

    print_error(error)
    try:
        answer = input("Look at it now, read-only? y, or Enter for no: ")
    except EOFError:
        answer = ""
    if answer.strip().casefold() not in ("y", "yes"):
        return error.exit_code
    from fieldtui.ui.app import run_review

    return run_review(workspace, read_session(workspace.disk, folder), make_clock())


def review(arguments: argparse.Namespace) -> int:
    session = read_ref(arguments.session)
    want_terminal()
    from fieldtui.ui.app import run_review

    elsewhere = Path(arguments.remarks) if arguments.remarks else None
    return run_review(open_workspace(), session, make_clock(), elsewhere)


def practice(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.practice import make_practice
    from fieldtui.desk.reading import read_session
    from fieldtui.report.text_summary import format_summary
    from fieldtui.ui.practice import run_lesson, run_practice

    workspace = make_practice(make_disk(), Path(arguments.dir) if arguments.dir else None)
    if not (arguments.auto or arguments.whole):
        print_lesson(run_lesson(workspace, make_clock()))
        return 0
    ended = run_practice(workspace, make_clock(), is_auto=arguments.auto, is_headless=arguments.headless)
    if ended.folder is None:
        print(f"no session was begun; the practice workspace lies in {visible(str(workspace.root))}")
        return 0
    print(format_summary(read_session(workspace.disk, ended.folder)))
    print(f"the practice session lies in {visible(str(ended.folder))}")
    if ended.stuck_at is not None:
        print(f"the script got stuck at {ended.stuck_at.at or 'the end'}: {ended.stuck_at.does}")
        return 1
    return 0


def print_lesson(coach: Coach) -> None:
    """What was learned, once the screen is gone."""
    for line in coach.learned:
        print(f"learned: {line}")
    if coach.left:
        print(f"not yet: {', '.join(coach.left)} (fieldtui practice begins anew)")
    print("for real: fieldtui new surveys; then, in that folder: fieldtui walk example")


def add_commands(commands: Any) -> None:
    """``walk``, ``resume``, ``review`` and ``practice``."""
    _add_walking(commands)
    _add_looking(commands)


def _add_walking(commands: Any) -> None:
    parser = add_command(
        commands,
        "walk",
        walk,
        "brief, then walk a route",
        examples="""
            fieldtui walk airframe-bonds            a route of routes/
            fieldtui walk plans/wing.toml           a route file elsewhere
            fieldtui walk airframe-bonds --copy /media/stick     and every row on a stick as well
            fieldtui walk airframe-bonds --sections SW,PW    part of it; another crew takes the rest
        """,
    )
    add_route(parser)
    parser.add_argument(
        "--sections",
        metavar="A,B",
        help="walk these sections only; put the crews' sessions together with: compare --merge",
    )
    add_hints(parser)
    add_copy(parser)

    parser = add_command(
        commands,
        "resume",
        resume,
        "go on with an open session",
        examples="""
            fieldtui resume                         the one left open last
            fieldtui resume sessions/NAME           this one
            fieldtui resume --recorder "Tam Orrick"     somebody else records from here on
        """,
    )
    add_session(parser, nargs="?", help=f"{SESSION_HELP}; the last open one if left out")
    add_hints(parser)
    parser.add_argument("--recorder", default="", help="who records from here on, if it is somebody else")
    parser.add_argument("--prober", default="", help="who probes from here on, if it is somebody else")
    add_copy(parser)


def _add_looking(commands: Any) -> None:
    parser = add_command(
        commands,
        "review",
        review,
        "look at a session, read-only",
        examples="""
            fieldtui review sessions/NAME           exceptions first
            fieldtui review /media/cd/NAME --remarks notes    where it cannot be written to
        """,
        description="Look at a session, read-only. Its own files are never written to. A remark goes to a "
        "file of the reviewer's own, review-NAME.toml, beside them or in DIR.",
    )
    add_session(parser)
    add_remarks(parser)

    parser = add_command(
        commands,
        "practice",
        practice,
        "a lesson with a coach, or the demo scenario with a scripted prober",
        description="A guided survey of ten minutes on the real screens: a coach says what the prober calls "
        "out and which key to press, through a skip, a redo, a void, numbers that differ and a reconcile. "
        "It goes on only when a thing is done right, and can be left at any time.",
        examples="""
            fieldtui practice                       the lesson
            fieldtui practice --whole               the whole demo walk, with a scripted prober
            fieldtui practice --auto                watch the whole walk play itself
            fieldtui practice --auto --headless     the same without a terminal
        """,
    )
    parser.add_argument("--whole", action="store_true", help="the whole demo walk instead of the lesson")
    parser.add_argument("--auto", action="store_true", help="play the whole walk through the same screens")
    parser.add_argument("--headless", action="store_true", help="with --auto: without a visible terminal")
    parser.add_argument("--dir", help="where to make the practice workspace (a temporary folder if left out)")
