"""The commands about one session's record: from paper, against the meter's memory, verified, reported."""

from __future__ import annotations

import argparse
import sys
from pathlib import Path
from typing import TYPE_CHECKING, Any

from fieldtui.cli.answers import print_error, print_json, print_problems
from fieldtui.cli.arguments import add_command, add_json, add_remarks, add_route, add_session
from fieldtui.cli.places import make_clock, make_disk, open_workspace, read_ref, session_folder
from fieldtui.core.text import counted, visible
from fieldtui.errors import BadInputError, FieldtuiError

if TYPE_CHECKING:
    from fieldtui.report.findings.finding import Finding


def transcribe(arguments: argparse.Namespace) -> int:
    from fieldtui.core.account.paths import describe_path, judge_paths
    from fieldtui.desk.transcription import paper_brief, transcribe_sheet
    from fieldtui.files.sheet import MAX_BYTES
    from fieldtui.report.findings.meter import find_in_meters
    from fieldtui.report.findings.points import unverified_limits

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
    counts = {state.value: count for state, count in made.survey.counts.items()}
    unverified = unverified_limits(made.survey)
    paths = {result.path.id: describe_path(result) for result in judge_paths(made.survey)}
    lacking = list(find_in_meters(made.survey))
    if arguments.json:
        print_json(
            {
                "session": str(made.folder),
                "readings": len(made.survey.records),
                "points": counts,
                "alarms": [alarm.as_json() for alarm in made.alarms],
                "suspects": [suspect.as_json() for suspect in made.suspects],
                "paths": paths,
                "unverified": {name: list(points) for name, points in unverified.items()},
                "has_times": made.has_times,
                "lacking": [
                    {"kind": each.kind.value, "what": each.what, "where": each.where} for each in lacking
                ],
            }
        )
        return 0
    print(f"session  {visible(str(made.folder))}")
    print(f"readings {len(made.survey.records)}")
    print("points   " + ", ".join(f"{count} {word}" for word, count in counts.items() if count))
    if not made.has_times:
        print("times    of the keying; the sheet has none")
    for path, said in paths.items():
        print(f"path     {visible(path)}: {visible(said)}")
    for name, points in unverified.items():
        judged = counted(len(points), "point")
        print(f"limit UNVERIFIED: {visible(name)} is from memory and judged {judged}")
    _print_lacking(lacking)
    for suspect in made.suspects:
        print(visible(suspect.words))
    for alarm in made.alarms:
        print(
            f"out of step at record {alarm.record}, since record {alarm.began_at}: {alarm.cause} "
            f"({alarm.probability:.0%})"
        )
    return 0


def _print_lacking(lacking: list[Finding]) -> None:
    """What verdicts and numbers lack for the meter, each with what to do."""
    for each in lacking:
        where = f" [{each.where}]" if each.where else ""
        print(visible(f"{each.kind.value}: {each.what}{where}"))
        print(visible(f"    to do: {each.remedy}"))


def reconcile(arguments: argparse.Namespace) -> int:
    from fieldtui.desk import reconcile_words, reconciling
    from fieldtui.desk.opening import resume_session

    session = read_ref(arguments.session)
    survey = session.survey
    currents = reconciling.currents_of(survey)
    memory = reconciling.load_list(arguments.list, session.facts.instrument.unit, currents)
    covered = reconciling.cover(survey, memory, arguments.memory_run)
    pairing = reconciling.reconcile(survey, covered.memory, covered.runs)
    told = reconcile_words.tell(survey, pairing, covered)
    applied, trouble = 0, None
    settled: list[int] = []
    unsettled: dict[int, str] = {}
    if arguments.accept == "certain":
        try:
            with resume_session(open_workspace(), session.folder, make_clock()) as desk:
                applied = reconciling.take_over(desk, pairing, covered.memory, Path(arguments.list).name)
            settled = reconciling.settled_runs(survey, pairing)
            unsettled = reconciling.unsettled(survey, pairing)
        except FieldtuiError as error:
            trouble = error  # what was found is said all the same
    if arguments.json:
        print_json(reconcile_words.as_json(told, applied, settled, unsettled, covered.left_out))
    else:
        for line in reconcile_words.format_findings(told):
            print(visible(line))
        for line in reconcile_words.format_outcome(applied, settled, unsettled):
            print(visible(line))
    if trouble is not None:
        if not arguments.json:
            raise trouble
        print_error(trouble)
        return trouble.exit_code
    return 1 if reconciling.has_findings(pairing) else 0


def verify(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.verifying import Paper, verify_session

    paper = Paper.copied(arguments.seal, arguments.rows)
    verified = verify_session(make_disk(), session_folder(arguments.session), paper)
    if arguments.json:
        print_json(verified.as_json())
    else:
        print_problems(verified.problems, sys.stdout)
        print(verified.words)
        if verified.is_whole:
            print(f"seal {verified.seal}")
        elif verified.seal_row:
            print(f"last link that holds, row {verified.seal_row}: {verified.seal}")
    return 0 if verified.ok else 1


def report(arguments: argparse.Namespace) -> int:
    from fieldtui.desk.remarks import find_remarks, remarks_folder
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
    if arguments.json:
        print_json({"session": str(session.folder), "files": [str(path) for path in written.files]})
    else:
        print(written.summary)
        for path in written.files:
            print(f"wrote {visible(str(path))}")
        if elsewhere is not None and not remarks.in_folder(remarks_folder(session, elsewhere)):
            print(f"no remarks on this session in {visible(str(elsewhere))}")
    return 0


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
        print(f"go on with: fieldtui resume {visible(folder.name)}")
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
            fieldtui verify sessions/NAME --seal "2f9c 01aa 7be4 d03c" --rows 214
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
        "write results.csv and a plain-text summary",
        examples="""
            fieldtui report sessions/NAME           beside the session's own files
            fieldtui report sessions/NAME --out handover
        """,
    )
    add_session(parser)
    add_remarks(parser)
    parser.add_argument("--out", metavar="DIR", help="write there instead of beside the session's files")
    add_json(parser)
