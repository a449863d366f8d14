"""What every command's arguments are made with: one look of help, examples under each."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from difflib import get_close_matches
from textwrap import dedent, fill, indent
from typing import Any, NoReturn

from fieldtui.cli.answers import print_error
from fieldtui.cli.names import NamesIn
from fieldtui.core.text import visible
from fieldtui.errors import WrongUseError

Command = Callable[[argparse.Namespace], int]

_WIDTH = 79  # columns of help
_ROUTE_HELP = "a name in routes/, or the path of a route file"
SESSION_HELP = "its folder or name"


class Parser(argparse.ArgumentParser):
    """Says what is wrong with the arguments, and does not pass their control characters on."""

    def error(self, message: str) -> NoReturn:
        super().error(visible(message))

    def _check_value(self, action: argparse.Action, value: Any) -> None:
        """Refuse a command that there is not; argparse asks here, and would list all of them."""
        if isinstance(action.choices, dict) and value not in action.choices:  # only commands come in a dict
            close = get_close_matches(str(value), list(action.choices), n=1, cutoff=0.5)
            meant = f"did you mean: {self.prog} {close[0]} ? " if close else ""
            remedy = f"{meant}{self.prog} --help lists the commands"
            print_error(WrongUseError(f"There is no command: {self.prog} {value}", remedy=remedy))
            self.exit(WrongUseError.exit_code)
        super()._check_value(action, value)


def add_command(
    commands: Any, name: str, run: Command, summary: str, *, examples: str, description: str = ""
) -> argparse.ArgumentParser:
    """One more command.

    Args:
        commands: what argparse adds commands to.
        name: as it is typed.
        run: answers it.
        summary: one line for the list of commands.
        examples: one a line, as typed, with two or more spaces before what it is for.
        description: what the help says beyond the summary.
    """
    parser: argparse.ArgumentParser = commands.add_parser(
        name,
        help=summary,
        description=fill(description or summary, _WIDTH),
        epilog=format_examples(examples),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.set_defaults(run=run)
    return parser


def add_group(commands: Any, name: str, summary: str, *, examples: str) -> Any:
    """A command that has commands of its own: what those are added to. Alone it says which there are."""
    parser = commands.add_parser(
        name,
        help=summary,
        description=summary,
        epilog=format_examples(examples),
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    inner = parser.add_subparsers(title="commands", metavar="")

    def ask_which(arguments: argparse.Namespace) -> int:
        raise WrongUseError(
            f"{name} wants one of its commands: {', '.join(inner.choices)}",
            remedy=f"{parser.prog} --help lists the commands and what each is for",
        )

    parser.set_defaults(run=ask_which)
    return inner


def add_route(parser: argparse.ArgumentParser, name: str = "route", **more: Any) -> None:
    """A route, by path or by name; shells complete both."""
    _complete(parser.add_argument(name, **{"help": _ROUTE_HELP, **more}), "routes")


def add_session(parser: argparse.ArgumentParser, name: str = "session", **more: Any) -> None:
    """A session, by folder or by name; shells complete both."""
    _complete(parser.add_argument(name, **{"help": SESSION_HELP, **more}), "sessions")


def _complete(action: argparse.Action, folder: str) -> None:
    setattr(action, "completer", NamesIn(folder))  # noqa: B010  argcomplete looks for it; argparse does not know it


def add_hints(parser: argparse.ArgumentParser) -> None:
    """Whether hints for the first sessions are shown."""
    parser.add_argument(
        "--no-hints",
        action="store_true",
        default=argparse.SUPPRESS,  # so that one before the command counts for it, too
        help="none of the hints of the first sessions (or FIELDTUI_HINTS=off)",
    )


def add_copy(parser: argparse.ArgumentParser) -> None:
    """Where a second copy of the session is kept."""
    parser.add_argument(
        "--copy",
        metavar="DIR",
        default="",
        help="keep a second copy of the session there, a stick say ($FIELDTUI_COPY if left out)",
    )


def add_remarks(parser: argparse.ArgumentParser) -> None:
    """Where reviewers' remarks are kept when not beside the session."""
    parser.add_argument(
        "--remarks",
        metavar="DIR",
        help="keep reviewers' remarks there, in a folder of the session's name, and not beside its files",
    )


def add_json(parser: argparse.ArgumentParser) -> None:
    """The choice of an answer that programs read."""
    parser.add_argument("--json", action="store_true", help="answer as JSON")


def count(text: str) -> int:
    """A whole number from 1 on; argparse says what is wrong with another."""
    if not (text.isascii() and text.isdigit() and len(text) <= 9 and int(text)):
        raise argparse.ArgumentTypeError(f"{text!r} is not a whole number from 1 on")
    return int(text)


def format_examples(examples: str) -> str:
    """The end of a command's help."""
    return "examples:\n" + indent(dedent(examples).strip(), "  ")
