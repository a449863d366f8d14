"""The commands about one session's record: from paper, against the meter's memory, verified, reported."""

from __future__ import annotations

import argparse
import shlex
import sys
from pathlib import Path
from typing import Any

from fieldtui.cli.answers import print_error, print_json, print_problems
from fieldtui.cli.arguments import add_command, add_json, add_remarks, add_route, add_session
from fieldtui.cli.places import make_clock, make_disk, open_workspace, read_ref, session_folder
from fieldtui.core.text import counted, visible
from fieldtui.errors import BadInputError, FieldtuiError


def transcribe(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.transcription import paper_brief, transcribe_sheet
    from fieldtui.files.sheet import MAX_BYTES
    from fieldtui.report.transcribed_words import format_transcribed, transcribed_as_json

    workspace = open_workspace(arguments.route, out=arguments.out)
    route = workspace.load_route(arguments.route)
    brief = paper_brief(
        workspace.tables(),
        route.route,
        meter=arguments.meter,
        job=arguments.job,
        prober=arguments.prober,
        recorder=arguments.recorder,
        ambient=arguments.ambient,
        conductor=arguments.conductor,
    )
    data = workspace.disk.read_file(Path(arguments.sheet), MAX_BYTES)
    made = transcribe_sheet(workspace, route, data, arguments.sheet, brief, make_clock())
    if arguments.json:
        print_json(transcribed_as_json(made))
        return 0
    for line in format_transcribed(made):
        print(visible(line))
    return 0


def reconcile(arguments: argparse.Namespace) -> int:
    from fieldtui.desk import reconcile_words, reconciling, taking_over
    from fieldtui.desk.opening import resume_session

    session = read_ref(arguments.session)
    survey = session.survey
    currents = reconciling.currents_of(survey)
    memory = reconciling.load_list(arguments.list, session.facts.instrument.unit, currents)
    covered = reconciling.cover(survey, memory, arguments.memory_run)
    pairing = reconciling.reconcile(survey, covered.memory, covered.runs)
    told = reconcile_words.tell(survey, pairing, covered)
    trouble = None
    done: list[taking_over.Correction] = []
    settled: list[int] = []
    unsettled: dict[int, str] = {}
    if arguments.accept == "certain":
        name = Path(arguments.list).name
        try:
            if taking_over.has_to_write(survey, pairing, name):  # opening it is a row, too
                with resume_session(open_workspace(), session.folder, make_clock()) as desk:
                    taking_over.take_over(desk, pairing, covered.memory, name, done=done)
            settled = taking_over.settled_runs(survey, pairing)
            unsettled = taking_over.unsettled(survey, pairing)
        except FieldtuiError as error:
            trouble = error  # what was found is said all the same
    applied = len(done)
    if arguments.json:
        print_json(reconcile_words.as_json(told, applied, settled, unsettled, covered.left_out))
    else:
        for line in reconcile_words.format_findings(told):
            print(visible(line))
        for line in reconcile_words.format_outcome(told, applied, settled, unsettled):
            print(visible(line))
    if trouble is not None:
        if not arguments.json:
            raise trouble
        print_error(trouble)
        return trouble.exit_code
    return 1 if reconciling.has_findings(pairing) else 0


def verify(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.verifying import Paper, last_link_words, verify_session

    paper = Paper.copied(arguments.seal, arguments.rows)
    verified = verify_session(make_disk(), session_folder(arguments.session), paper)
    if arguments.json:
        print_json(verified.as_json())
    else:
        print_problems(verified.problems, sys.stdout)
        print(verified.words)
        if verified.is_whole:
            print(f"seal {verified.seal}")
        elif last_link := last_link_words(verified):
            print(last_link)
    return 0 if verified.ok else 1


def report(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.remarks import find_remarks, remarks_folder
    from fieldtui.desk.verifying import own_problems
    from fieldtui.report.writing import write_report

    session = read_ref(arguments.session)
    elsewhere = Path(arguments.remarks) if arguments.remarks else None
    if elsewhere is not None and not make_disk().is_folder(elsewhere):
        raise BadInputError(
            "There is no such folder of reviewers' remarks",
            where=arguments.remarks,
            remedy="name the folder that fieldtui review --remarks was given, or leave --remarks out",
        )
    remarks = find_remarks(make_disk(), session, elsewhere)
    folder = Path(arguments.out) if arguments.out else session.folder
    written = write_report(make_disk(), session, folder, remarks)
    problems = own_problems(session)
    if arguments.json:
        print_json(
            {
                "ok": not problems,
                "session": str(session.folder),
                "files": [str(path) for path in written.files],
                "problems": [problem.as_json() for problem in problems],
            }
        )
    else:
        print(written.summary)
        for path in written.files:
            print(f"wrote {visible(str(path))}")
        if elsewhere is not None and not remarks.in_folder(remarks_folder(session, elsewhere)):
            print(f"no remarks on this session in {visible(str(elsewhere))}")
        if problems:
            print(f"{counted(len(problems), 'problem')} of the record itself; fieldtui verify says which")
    return 1 if problems else 0


def reopen(arguments: argparse.Namespace) -> int:
    from fieldtui.core.trail.chain import seal_groups
    from fieldtui.desk.opening import reopen_session

    folder = session_folder(arguments.session)
    with reopen_session(open_workspace(), folder, make_clock(), arguments.reason, arguments.by) as desk:
        broken = desk.survey.ending.reopenings[-1]
    seal = seal_groups(broken.event.ref)
    if arguments.json:
        print_json({"session": str(folder), "seal": seal, "closed_row": broken.closed_row, "row": broken.row})
    else:
        print(f"reopened {visible(str(folder))}")
        print(f"its seal {seal}, at row {broken.closed_row}, and signatures before it no longer hold")
        is_here = folder == open_workspace().sessions_folder / folder.name
        name = visible(folder.name if is_here else str(folder))
        print(f"go on with: fieldtui resume {shlex.quote(name)}")
    return 0


def add_commands(commands: Any) -> None:
    """``transcribe``, ``reconcile``, ``reopen``, ``verify`` and ``report``."""
    _add_writing(commands)
    _add_reading(commands)


def _add_writing(commands: Any) -> None:
    parser = add_command(
        commands,
        "transcribe",
        transcribe,
        "make a session from a paper capture sheet",
        examples="""
            fieldtui transcribe airframe-bonds sheet.csv
            fieldtui transcribe airframe-bonds sheet.csv --meter small-meter --recorder "Tam Orrick"
        """,
    )
    add_route(parser)
    parser.add_argument(
        "sheet", help="the sheet as CSV: action,point,record,value,unit,memory,reason,note,time"
    )
    parser.add_argument("--out", metavar="DIR", help="where sessions are kept (sessions/ if left out)")
    parser.add_argument("--meter", default="", help="id of the meter in instruments.toml")
    parser.add_argument("--job", default="", help="job card or order")
    parser.add_argument("--prober", default="", help="who held the probes")
    parser.add_argument("--recorder", default="", help="who wrote the sheet")
    parser.add_argument("--ambient", default="", metavar="°C", help="temperature of the air on the sheet")
    parser.add_argument("--conductor", default="", metavar="°C", help="temperature of what was measured")
    add_json(parser)

    parser = add_command(
        commands,
        "reconcile",
        reconcile,
        "hold the record against the meter's memory list",
        examples="""
            fieldtui reconcile sessions/NAME list.csv
            fieldtui reconcile sessions/NAME list.csv --accept certain
        """,
    )
    add_session(parser)
    parser.add_argument("list", help="the memory list as CSV: run,number,value,unit,state")
    parser.add_argument(
        "--run",
        type=int,
        dest="memory_run",
        metavar="N",
        help="the memory run that the list is of; only that one is compared",
    )
    parser.add_argument(
        "--accept", choices=["certain"], help="append what is certain as amendments (posterior 0.999 or more)"
    )
    add_json(parser)

    parser = add_command(
        commands,
        "reopen",
        reopen,
        "let a closed session take events again",
        examples="""
            fieldtui reopen sessions/NAME --reason "SW-04 reworked, retest"
        """,
        description="Writes an event with the reason. The seal on the job card and the signatures before it "
        "no longer hold; every report says so.",
    )
    add_session(parser)
    parser.add_argument("--reason", required=True, help="why, as it will stand in every report")
    parser.add_argument("--by", default="", help="who reopens it (the recorder if left out)")
    add_json(parser)


def _add_reading(commands: Any) -> None:
    parser = add_command(
        commands,
        "verify",
        verify,
        "is a session's record whole and unchanged?",
        examples="""
            fieldtui verify sessions/NAME           exit code 1 where it is not
            fieldtui verify sessions/NAME --seal "2f9c 01aa 7be4 d03c 5e11 90b8 c7d2 4a6f" --rows 214
        """,
    )
    add_session(parser)
    parser.add_argument("--seal", metavar="CODE", help="the seal as copied on to the signed paper, in quotes")
    parser.add_argument("--rows", metavar="N", type=int, help="the number of rows as copied on to it")
    add_json(parser)

    parser = add_command(
        commands,
        "report",
        report,
        "write results.csv, a plain-text summary and the whole record as one page",
        examples="""
            fieldtui report sessions/NAME           beside the session's own files
            fieldtui report sessions/NAME --out handover
        """,
        description="Writes results.csv, summary.txt and report.html. Exit code 1 where the record is not "
        "whole and unchanged, as verify finds it: the report is written all the same, and says so.",
    )
    add_session(parser)
    add_remarks(parser)
    parser.add_argument("--out", metavar="DIR", help="write there instead of beside the session's files")
    add_json(parser)
