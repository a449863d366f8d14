"""One small whole file of each kind for the coverage-guided fuzzing: what is short is tried more often.

The project's own files are ten times as long, and an input's cost grows with its length.
"""

from __future__ import annotations

from fieldtui.files.toml.scan import MAX_DEPTH, MAX_TOKEN
from tests.fuzz.readers import READERS

ROUTE = b"""\
format = 1
title = "Wing"
asset = "twin"
revision = "B"
unit = "mohm"
check_every = 4
[[sections]]
id = "A"
title = "All"
[[points]]
id = "A1"
section = "A"
title = "Flap"
limit = { max = 2.5, cmp = "<" }
[[points]]
id = "A2"
section = "A"
title = "Spar"
limit = { criterion = "equipment-frame" }
repeats = 3
rule = "median"
retest = { max = 3 }
"""

SESSION = b"""\
format = 1
id = "2026-05-04_twin_wing_01"
program = "fieldtui 0"
started = 2026-05-04T08:30:00Z
job = "J"
practice = false
ambient_c = 18.5
chain = "0123456789abcdef0123456789abcdef"
[crew]
prober = "Ben"
recorder = "Ana"
[instrument]
id = "m"
title = "Meter"
unit = "mohm"
memory_size = 12
calibration_due = 2029-03-31
check_standard = { value = 2.5, tolerance = 0.05, unit = "mohm" }
[criteria.c]
title = "C"
max = 2.5
cmp = "<"
unit = "mohm"
source = "own"
status = "own"
[reasons]
skip = ["paint"]
[[cautions]]
id = "static"
title = "Static"
text = "Discharge first."
[route]
name = "wing"
format = 1
title = "Wing"
asset = "twin"
revision = "B"
unit = "mohm"
[[route.sections]]
id = "A"
title = "All"
[[route.points]]
id = "A1"
section = "A"
title = "Flap"
limit = { criterion = "c" }
"""

TABLES = {
    "criteria": b"""\
format = 1
[criteria.c]
title = "C"
max = 2.5
cmp = "<"
unit = "mohm"
source = "own"
clause = "1"
status = "own"
decision = "guarded"
guard = 1
""",
    "instruments": b"""\
format = 1
[instruments.m]
title = "M"
serial = "0417"
unit = "mohm"
memory_size = 128
calibration_due = 2029-03-31
check_standard = { value = 2.5, tolerance = 0.05, unit = "mohm" }
accuracy = { percent = 0.5, floor = 0.02, resolution = 0.01, coverage = 2 }
""",
    "reasons": b"""\
format = 1
[reasons]
skip = ["panel closed", "weather"]
void = ["probe slipped"]
""",
    "cautions": b"""\
format = 1
[[cautions]]
id = "static"
title = "Static"
text = "Discharge first."
""",
    "conductors": b"""\
format = 1
[gauges]
source = "ASTM B258"
status = "unverified"
sizes = [{ awg = "1", diameter_mm = 7.348, area_mm2 = 42.41, ohm_per_km = 0.4066 }]
[[cables]]
classes = [1, 2]
metal = "copper"
source = "IEC 60228"
status = "second-hand"
sizes = [{ mm2 = 1, ohm_per_km = 18.1 }]
""",
}

# The engine does not come to these by itself: a little over the limits. Hostile files go far over them.
DEEP = (
    b"a = " + b"[" * (2 * MAX_DEPTH),
    b"a = " + b"{a=" * (2 * MAX_DEPTH),
    b".".join([b"a"] * (2 * MAX_DEPTH)) + b" = 1\n",
    b"a = " + b"9" * (MAX_TOKEN + 9) + b"\n",
    b"a = 1e999999999\n",
)
LINES = 5  # of a table in commas


def small_seeds(name: str) -> tuple[bytes, ...]:
    """Short whole files for the reader ``name``; the first lines of its own files where lines are whole."""
    written = {"route": ROUTE, "session": SESSION, **TABLES}
    if name in written:
        return (written[name], *DEEP)
    if name == "remarks":
        return (*READERS[name][1], *DEEP)
    return tuple({b"".join(seed.splitlines(keepends=True)[:LINES]) for seed in READERS[name][1]})
