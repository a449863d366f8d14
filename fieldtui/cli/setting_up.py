"""The commands for setting up: a workspace, an editor, a shell."""

from __future__ import annotations

import argparse
from pathlib import Path
from typing import Any

from fieldtui.cli.answers import print_json
from fieldtui.cli.arguments import add_command, add_json
from fieldtui.cli.places import make_disk
from fieldtui.core.text import visible

SHELLS = ("bash", "zsh", "fish", "powershell")
SCHEMAS = ("route", "criteria", "instruments", "reasons", "cautions", "conductors", "session", "review")


def new(arguments: argparse.Namespace) -> int:
    from fieldtui.files.new_workspace import make_workspace

    files = make_workspace(make_disk(), Path(arguments.dir))
    if arguments.json:
        print_json({"workspace": arguments.dir, "files": [str(path) for path in files]})
        return 0
    print(f"the workspace lies in {visible(arguments.dir)}")
    print("put your meters into shared/instruments.toml, and your first route beside routes/example.toml")
    return 0


def schema(arguments: argparse.Namespace) -> int:
    from fieldtui.files.toml.schemas import make_schema

    print_json(make_schema(arguments.file))
    return 0


def completion(arguments: argparse.Namespace) -> int:
    from argcomplete.shell_integration import shellcode

    print(shellcode(["fieldtui"], shell=arguments.shell).strip())
    return 0


def add_commands(commands: Any) -> None:
    """``new``, ``schema`` and ``completion``."""
    parser = add_command(
        commands,
        "new",
        new,
        "make an empty workspace",
        description="Make a folder with routes (one example), shared (the crew's common tables, to be made "
        "your own) and sessions (empty). A folder with anything in it is left alone.",
        examples="""
            fieldtui new surveys                    then: cd surveys && fieldtui route check example
        """,
    )
    parser.add_argument("dir", metavar="DIR", help="a new folder, or an empty one")
    add_json(parser)

    parser = add_command(
        commands,
        "schema",
        schema,
        "JSON Schema of a TOML file, for editors",
        examples="""
            fieldtui schema route > route.schema.json
        """,
    )
    parser.add_argument("file", choices=SCHEMAS, metavar="FILE", help=", ".join(SCHEMAS))

    parser = add_command(
        commands,
        "completion",
        completion,
        "a script that lets a shell complete commands and names",
        examples="""
            fieldtui completion bash                bash: eval "$(fieldtui completion bash)"
            fieldtui completion zsh                 zsh: the same, after compinit
            fieldtui completion fish                fish: fieldtui completion fish | source
            fieldtui completion powershell          to the end of the profile script
        """,
    )
    parser.add_argument("shell", choices=SHELLS, metavar="SHELL", help=", ".join(SHELLS))
