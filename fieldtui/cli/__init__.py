"""The command line: arguments in, standard output and error out, and the exit code.

Exit codes: 0 done; 1 findings (a failed check, a broken chain) or a medium that failed; 2 wrong use
or bad input. Everything heavy is imported by the command that needs it.
"""

from __future__ import annotations

import argparse
import io
import os
import sys
from collections.abc import Sequence
from types import ModuleType

from fieldtui import __version__
from fieldtui.cli import screens
from fieldtui.cli.answers import print_error
from fieldtui.cli.arguments import Command, Parser, add_hints, format_examples
from fieldtui.errors import FieldtuiError

__all__ = ["main", "make_parser"]

_EXAMPLES = """
    fieldtui                                the start screen of the workspace in this folder
    fieldtui practice                       learn the walk on the demo scenario
    fieldtui route check routes/*.toml      every problem of every route
    fieldtui walk airframe-bonds            brief, then walk
    fieldtui resume                         go on with the session left open last
    fieldtui verify sessions/NAME --json    is the record whole and unchanged?
"""


def main(argv: Sequence[str] | None = None) -> int:
    """Run one command; returns the exit code."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):  # a console that cannot show Ω shows its code
            stream.reconfigure(errors="backslashreplace")
    try:
        code = _answer(argv)
        sys.stdout.flush()
    except BrokenPipeError:
        # Whoever read our output went away; nothing is left to say, and nowhere to say it.
        os.dup2(os.open(os.devnull, os.O_WRONLY), 1)
        return 0
    return code


def _answer(argv: Sequence[str] | None) -> int:
    try:
        arguments = _parsed(argv)
    except SystemExit as stop:  # argparse has said why
        return stop.code if isinstance(stop.code, int) else 2
    run: Command = arguments.run
    try:
        return run(arguments)
    except FieldtuiError as error:
        print_error(error, as_json=getattr(arguments, "json", False))
        return error.exit_code
    except BrokenPipeError:
        raise
    except KeyboardInterrupt:
        return 130
    except Exception as error:  # the last door: a person never sees a traceback
        if os.environ.get("FIELDTUI_TRACEBACK"):
            raise
        name = type(error).__name__
        remedy = "set FIELDTUI_TRACEBACK=1 and run it again to see where; what was recorded is on the disk"
        print_error(FieldtuiError(f"the program met something it did not expect: {name}", remedy=remedy))
        return 2


def _parsed(argv: Sequence[str] | None) -> argparse.Namespace:
    """The arguments; the parsers of all commands, half a MiB, go before a command begins."""
    if "_ARGCOMPLETE" in os.environ:  # a shell asks what could come next; this ends the program
        from argcomplete import autocomplete

        autocomplete(make_parser(), always_complete_options="long")
    given = sys.argv[1:] if argv is None else argv
    # What a crew types opens a screen, and need not wait for the parsers of all the other commands.
    if not given:
        return make_parser(()).parse_args(given)
    return make_parser((screens,) if given[0] in screens.COMMANDS else None).parse_args(given)


def _all_groups() -> tuple[ModuleType, ...]:
    from fieldtui.cli import history, plan, record, setting_up

    return screens, plan, record, history, setting_up


def make_parser(groups: Sequence[ModuleType] | None = None) -> argparse.ArgumentParser:
    """The commands of some groups and their arguments; of all where none are named."""
    parser = Parser(
        prog="fieldtui",
        description="Take bonding and grounding resistance readings along a planned route,\n"
        "and never lose which reading belongs to which point.",
        epilog=format_examples(_EXAMPLES),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("--version", action="version", version=f"fieldtui {__version__}")
    add_hints(parser)
    parser.set_defaults(run=screens.start)
    if groups == ():
        return parser
    commands = parser.add_subparsers(title="commands", metavar="")
    for group in _all_groups() if groups is None else groups:
        group.add_commands(commands)
    return parser
