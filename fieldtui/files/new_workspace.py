"""An empty workspace: the folders, the crew's common tables, and one example of a route."""

from __future__ import annotations

from pathlib import Path

from fieldtui.errors import NotSavedError, WrongUseError
from fieldtui.files.disk import Disk, reason
from fieldtui.files.starter import starter_folder
from fieldtui.files.tables.tables import FILES

_MAX_BYTES = 4 * 1024 * 1024
_TABLES = (*FILES, "conductors.toml")

EXAMPLE = """\
# An example of a route: make it your own, or remove it. The file's name is the route's name.
# `fieldtui route check example` lists whatever is wrong with it, line by line.
format = 1
title = "Example"                   # what a person would call the walk
asset = "the asset's name"          # what is measured
revision = "A"
source = "where the points and limits are taken from"
unit = "mohm"                       # uohm, mohm, ohm, kohm or Mohm
check_every = 10                    # readings between two number checks; 0 for never

# Whatever a point does not say itself.
[defaults]
criterion = "jumper-connection"     # a limit of shared/criteria.toml
b = "ground stud by the door"       # one reference clipped once, many points probed
prepare = "clean to bright metal"
restore = "restore the finish as the approved data says"

# A section ends at a place where the walk may stop.
[[sections]]
id = "FR"
title = "Front"

# The points in the order in which they are walked. Only id, section, title and a limit must be there.
[[points]]
id = "FR-01"
section = "FR"
title = "Panel strap, left"
where = "front panel, lower edge"
a = "strap lug on the panel"
expected = { low = 0.4, high = 1.6 }             # how a sound bond of this kind reads
conductor = { awg = 12, length_mm = 180 }        # what lies between a and b: it cannot read less
pair = "FR-02"                                   # its partner on the other side
family = "panel straps"

[[points]]
id = "FR-02"
section = "FR"
title = "Panel strap, right"
where = "front panel, lower edge"
a = "strap lug on the panel"
expected = { low = 0.4, high = 1.6 }
conductor = { awg = 12, length_mm = 180 }
pair = "FR-01"
family = "panel straps"

[[points]]
id = "FR-03"
section = "FR"
title = "Frame of the control box"
limit = { max = 2.5, cmp = "<" }                 # figures of its own; "<" and "<=" differ at the limit
retest = { max = 2.0 }                           # after rework; "<" as the limit, unless cmp says
condition = "box closed, connectors mated"
caution = "sharp edge above"
"""


def make_workspace(disk: Disk, folder: Path) -> tuple[Path, ...]:
    """Make ``folder`` a workspace with empty ``sessions``; the files written.

    Raises:
        WrongUseError: something is in the folder, or it is no folder.
        NotSavedError: it cannot be written to.
    """
    try:
        if disk.path_identity(folder) is None:
            disk.make_folder(folder)
        elif not disk.is_folder(folder) or disk.list_folder(folder):
            what = "The folder is not empty" if disk.is_folder(folder) else "This is not a folder"
            raise WrongUseError(what, where=str(folder), remedy="name a new folder, or an empty one")
        for name in ("routes", "shared", "sessions"):
            disk.make_folder(folder / name)
        tables = starter_folder(disk) / "shared"
        files = {folder / "shared" / name: disk.read_file(tables / name, _MAX_BYTES) for name in _TABLES}
        files[folder / "routes" / "example.toml"] = EXAMPLE.encode()
        for path, data in files.items():
            disk.write_whole(path, data)
    except OSError as error:
        raise NotSavedError(
            f"The workspace could not be made: {reason(error)}",
            where=str(folder),
            remedy="name another folder, in a place that exists and can be written to",
        ) from error
    return tuple(files)
