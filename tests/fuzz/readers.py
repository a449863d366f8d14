"""Every reader of the program as a function of bytes that either answers or raises one of its own errors.

Used by the tests with a few thousand inputs and by the bench with millions. What an answer must be
like, whatever was read, is asserted here.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from pathlib import Path
from zlib import crc32

from fieldtui.core.measurement.ohms import NotAResistanceError, Unit, parse_resistance, parse_unit, speak
from fieldtui.core.plan.inserted import NotADefinitionError, format_limit, parse_definition, parse_limit
from fieldtui.core.plan.session import Session
from fieldtui.core.survey.meters import NotAMeterError, format_meter, parse_meter
from fieldtui.core.survey.survey import fold
from fieldtui.core.text import is_clean, neutral, normal, plain, refusal, visible
from fieldtui.core.trail import chain
from fieldtui.errors import BadInputError, FieldtuiError
from fieldtui.files.memory_list import parse_memory_list
from fieldtui.files.remarks import format_remark, parse_remarks
from fieldtui.files.route.columns import FIELDS, match_columns
from fieldtui.files.route.file import check_route, load_route
from fieldtui.files.route.point_list import place_problems, read_points
from fieldtui.files.route.point_table import parse_point_table
from fieldtui.files.route.text import format_route_file
from fieldtui.files.route.written_limits import parse_written_limit
from fieldtui.files.session.file import parse_session
from fieldtui.files.sheet import parse_sheet
from fieldtui.files.tables.tables import (
    CAUTIONS,
    CRITERIA,
    INSTRUMENTS,
    REASONS,
    load_tables,
    parse_conductors,
)
from fieldtui.files.trail.rows import COLUMNS, RowError, format_line, split_line
from fieldtui.files.trail.scan import scan_trail

ROOT = Path(__file__).resolve().parents[2]
OWN_ERRORS = (FieldtuiError, NotAResistanceError, NotADefinitionError)
Reader = Callable[[bytes], None]


def seeds(pattern: str) -> tuple[bytes, ...]:
    """The project's own files of one kind."""
    return tuple(path.read_bytes() for path in sorted(ROOT.glob(pattern)))


# --- TOML ---------------------------------------------------------------------------------------


@cache
def _criteria():  # type: ignore[no-untyped-def]
    data = (ROOT / "shared" / "criteria.toml").read_bytes()
    return load_tables(lambda name: data if name == CRITERIA else None).criteria


def read_route(data: bytes) -> None:
    if crc32(data) % 8:  # checking is reading once more: one in eight is held against it
        load_route(data, "fuzz.toml", "fuzz", _criteria())
        return
    problems = check_route(data, "fuzz.toml", "fuzz", _criteria())
    is_wrong = any(problem.severity == "error" for problem in problems)
    try:
        load_route(data, "fuzz.toml", "fuzz", _criteria())
    except BadInputError as error:
        assert is_wrong and error.problems
    else:
        assert not is_wrong


def _read_table(name: str) -> Reader:
    def read(data: bytes) -> None:
        load_tables(lambda wanted: data if wanted == name else None)

    return read


def read_conductors(data: bytes) -> None:
    parse_conductors(data, "conductors.toml")


def read_session_file(data: bytes) -> None:
    parse_session(data, "session.toml")


SESSION = "2026-05-19_amphibious-twin-puffling_practice-slipway_01"  # that the remarks are on


def read_remarks(data: bytes) -> None:
    """What was read can be written again, and is the same then."""
    remarks = parse_remarks(data, "review-ivo.toml", SESSION)
    head = f'format = 1\nsession = "{SESSION}"\n'.encode()
    again = head + b"".join(format_remark(each) for each in remarks)
    assert parse_remarks(again, "review-ivo.toml", SESSION) == remarks


# --- the trail ----------------------------------------------------------------------------------


@cache
def _facts() -> Session:
    path = next(ROOT.glob("demo/sessions/*practice*/session.toml"))
    return parse_session(path.read_bytes(), path.name)


def read_trail(data: bytes) -> None:
    """As it is, or with the chain made anew, so that changed cells get past it."""
    _hold_scan(_chained_anew(data) if crc32(data) % 4 else data)


def _hold_scan(data: bytes) -> None:
    facts = _facts()
    scan = scan_trail(data, first_link=facts.first_link)
    assert 0 <= scan.good_end <= len(data)
    assert not (scan.torn and scan.problems)
    assert scan.torn == data[scan.good_end :] or scan.problems
    assert scan.rows <= data.count(b"\n") + 1
    if scan.good_end < len(data):  # otherwise it is the same once more
        again = scan_trail(data[: scan.good_end], first_link=facts.first_link)
        assert again.rows == scan.rows or not scan.intact
    fold(facts.route, facts.instrument, scan.events)


def _chained_anew(data: bytes) -> bytes:
    link = _facts().first_link
    lines = data.split(b"\n")
    for place, line in enumerate(lines[1:], start=1):
        try:
            cells = split_line(line.decode())
        except (UnicodeDecodeError, RowError):
            continue
        if len(cells) == len(COLUMNS):
            link = chain.link(link, cells[:-1])
            lines[place] = format_line([*cells[:-1], link])[:-1]
    return b"\n".join(lines)


# --- lists made by people -----------------------------------------------------------------------


def read_sheet(data: bytes) -> None:
    sheet = parse_sheet(data, "sheet.csv")
    assert sheet.lines or sheet.problems


def read_memory_list(data: bytes) -> None:
    parse_memory_list(data, "list.csv", Unit.MOHM)


def read_point_table(data: bytes) -> None:
    table = parse_point_table(data, "points.csv")
    assert table.rows or table.problems


def read_point_list(data: bytes) -> None:
    """A spreadsheet as a route: every problem has its place, and what has none can be checked as a route."""
    table = parse_point_table(data, "points.csv")
    criteria = {name: criterion.limit for name, criterion in _criteria().items()}
    known = {field: field if field in table.columns else "" for field in FIELDS}
    sort = crc32(data) % 32  # what costs as much as all the rest is done with one in 32, or in four
    known = known if sort else {}  # guessed
    found = read_points(table, match_columns(table, known, criteria), Unit.MOHM, criteria)
    assert len(found.points) == len(found.lines)
    if sort % 4:
        return
    document = {"format": 1, "title": "List", "asset": "twin", "unit": "mohm"}
    route = format_route_file({**document, "sections": found.sections, "points": found.points}, [])
    place_problems(check_route(route, "points.toml", "points", _criteria()), found, table.file)


# --- single texts -------------------------------------------------------------------------------


def read_number(data: bytes) -> None:
    text = data.decode(errors="surrogateescape")
    for parse in (_read_resistance, parse_unit, _read_limit, _read_written_limit, _read_definition):
        try:
            parse(text)
        except OWN_ERRORS as error:
            assert str(error)


def _read_resistance(text: str) -> None:
    for unit in (Unit.MOHM, Unit.OHM):
        found = parse_resistance(text, unit)
        assert parse_resistance(found.digits, found.unit) == found
        assert speak(found)


def _read_limit(text: str) -> None:
    limit = parse_limit(text, Unit.MOHM)
    assert parse_limit(format_limit(limit), Unit.MOHM) == limit


def _read_written_limit(text: str) -> None:
    for comma in (False, True):
        parse_written_limit(text, Unit.MOHM, decimal_comma=comma)


def _read_definition(text: str) -> None:
    parse_definition("X01", text)


def read_meter(data: bytes) -> None:
    text = data.decode(errors="surrogateescape")
    try:
        meter = parse_meter("m", text)
    except NotAMeterError as error:
        assert str(error)
    else:
        assert parse_meter("m", format_meter(meter)) == meter


def read_text(data: bytes) -> None:
    text = data.decode(errors="surrogateescape")
    seen = visible(text)
    assert is_clean(seen)
    assert (refusal(text, max_length=len(text)) is None) is is_clean(text)
    assert normal(normal(text)) == normal(text)
    cell = neutral(text)
    assert plain(cell) == text
    assert cell[:1] not in ("=", "+", "-", "@", "＝", "＋", "－", "＠")


POINTS = """\
id,section,title,a,b,limit,retest,expected,awg,length_mm,repeats,rule,x,y,z
SW-1,SW,Jumper,lug,spar,< 2.5 mΩ,1.5,0.1 to 0.8,12,180,3,median,1.5,-2,0
SW-2,SW,"Strap, long",lug,spar,equipment-frame,,,,,,,,,
HU-1,Hull,Plate,,,record only,,,,,,,,,
""".encode()
REMARKS = f"""\
format = 1
session = "{SESSION}"

[[remarks]]
number = 1
time = 2026-05-20T08:30:00.123Z
by = "Ivo Marr"
text = "Take SF-02 again"
point = "SF-02"
record = 2
row = 4
seal = "0123456789abcdef0123456789abcdef"
rows = 12

[[remarks]]
number = 2
time = 2026-05-20T09:30:00Z
by = "Ivo Marr"
text = "It was the next one"
withdraws = 1
seal = "0123456789abcdef0123456789abcdef"
rows = 12
""".encode()

METER = b"""{"title": "Spare", "serial": "0041", "unit": "mohm", "memory_size": "40", "first_number": "0", \
"calibration_due": "2029-03-31", "standard": "2.500", "tolerance": "0.050", "standard_unit": "mohm", \
"percent": "0.5", "floor": "0.01", "resolution": "0.01", "coverage": "2", \
"spoiled_number_stays_used": "no"}"""

READERS: dict[str, tuple[Reader, tuple[bytes, ...]]] = {
    "route": (read_route, seeds("routes/*.toml") + seeds("demo/routes/*.toml")),
    "criteria": (_read_table(CRITERIA), seeds("shared/criteria.toml")),
    "instruments": (_read_table(INSTRUMENTS), seeds("shared/instruments.toml")),
    "reasons": (_read_table(REASONS), seeds("shared/reasons.toml")),
    "cautions": (_read_table(CAUTIONS), seeds("shared/cautions.toml")),
    "conductors": (read_conductors, seeds("shared/conductors.toml")),
    "session": (read_session_file, seeds("demo/sessions/*/session.toml")),
    "remarks": (read_remarks, (REMARKS,)),
    "trail": (read_trail, seeds("demo/sessions/*practice*/trail.csv")),
    "sheet": (read_sheet, seeds("demo/sheets/*.csv")),
    "memory list": (read_memory_list, seeds("demo/lists/*.csv")),
    "point table": (read_point_table, seeds("demo/sheets/*.csv")),
    "point list": (read_point_list, (POINTS, POINTS.replace(b",", b";"))),
    "number": (read_number, (b"1.38", b"950u", b"2R5", b"17 1.38", b"< 2.5 mohm", b"0.5 to 1.5", b"4K7")),
    "meter": (read_meter, (METER,)),
    "text": (read_text, ('Flap, "x" µΩ'.encode(), b"=1+1", b"'=x", "e\u0301\u0301".encode())),
}
