"""The commands that open a screen."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import Any

from fieldtui.cli.arguments import SESSION_HELP, add_command, add_route, add_session
from fieldtui.cli.places import make_clock, make_disk, open_workspace, read_ref
from fieldtui.core.text import visible
from fieldtui.errors import WrongUseError


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


def start(arguments: argparse.Namespace) -> int:
    want_terminal()
    from fieldtui.ui.app import run_start

    return run_start(open_workspace(), make_clock())


def walk(arguments: argparse.Namespace) -> int:
    workspace = open_workspace(arguments.route)
    route = workspace.load_route(arguments.route)
    want_terminal()
    from fieldtui.ui.app import run_walk

    return run_walk(workspace, route, make_clock())


def resume(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.opening import find_session, resume_session

    workspace = open_workspace()
    if arguments.session is not None:
        folder = find_session(workspace.disk, workspace, arguments.session)
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
    desk = resume_session(workspace, folder, make_clock())
    from fieldtui.ui.app import run_resumed

    return run_resumed(workspace, desk, make_clock())


def review(arguments: argparse.Namespace) -> int:
    session = read_ref(arguments.session)
    want_terminal()
    from fieldtui.ui.app import run_review

    return run_review(open_workspace(), session, make_clock())


def practice(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.practice import make_practice
    from fieldtui.desk.reading import read_session
    from fieldtui.report.text_summary import format_summary
    from fieldtui.ui.practice import run_practice

    workspace = make_practice(make_disk(), Path(arguments.dir) if arguments.dir else None)
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


def add_commands(commands: Any) -> None:
    """``walk``, ``resume``, ``review`` and ``practice``."""
    parser = add_command(
        commands,
        "walk",
        walk,
        "brief, then walk a route",
        examples="""
            fieldtui walk airframe-bonds            a route of routes/
            fieldtui walk plans/wing.toml           a route file elsewhere
        """,
    )
    add_route(parser)

    parser = add_command(
        commands,
        "resume",
        resume,
        "go on with an open session",
        examples="""
            fieldtui resume                         the one left open last
            fieldtui resume sessions/NAME           this one
        """,
    )
    add_session(parser, nargs="?", help=f"{SESSION_HELP}; the last open one if left out")

    parser = add_command(
        commands,
        "review",
        review,
        "look at a session, read-only",
        examples="""
            fieldtui review sessions/NAME           exceptions first
        """,
    )
    add_session(parser)

    parser = add_command(
        commands,
        "practice",
        practice,
        "the demo scenario with a scripted prober",
        examples="""
            fieldtui practice                       key what the scripted prober calls out
            fieldtui practice --auto                watch it play itself
            fieldtui practice --auto --headless     the same without a terminal
        """,
    )
    parser.add_argument("--auto", action="store_true", help="play it unattended through the same screens")
    parser.add_argument("--headless", action="store_true", help="with --auto: without a visible terminal")
    parser.add_argument("--dir", help="where to make the practice workspace (a temporary folder if left out)")
