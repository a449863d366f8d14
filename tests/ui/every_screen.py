"""Every main screen and dialog over one survey with awkward texts, for tests that look at all of them."""

from __future__ import annotations

import inspect
import pkgutil
from collections.abc import AsyncIterator, Iterator
from contextlib import asynccontextmanager
from importlib import import_module
from pathlib import Path

from fieldtui.desk.reading import read_session
from fieldtui.desk.session_desk import Desk
from fieldtui.desk.workspace import Workspace
from fieldtui.files.disk import Disk
from fieldtui.ui import dialogs, pages
from fieldtui.ui.app import FieldApp
from fieldtui.ui.dialogs.dialog import Dialog
from tests.ui.walking import Hand, Ticking, begin_desk, route_text, walking

POINTS = 12
WIDE = "右翼フラップ軌条二番ジャンパー線の接地端子の組合せ点検箇所"  # 29 characters, two cells each
MARKED = "U\u0308berwurfmutter unter dem Flu\u0308gel am Tankbelu\u0308ftungsrohr, vorne links"
LONG = "Starboard wing and float bonding straps after the repainting"
VALUES = "0.52 1.9 0.81 9.5 0.33 1.1".split()

# What is pressed on the walk to come to a screen, by its name.
FROM_WALK = {
    "walk": ["‹1.38›"],
    "drift": ["c", "‹9›", "enter"],
    "reconcile": ["h", "1", "‹{list}›", "enter", "3"],
    "close-out": ["d"],
    "menu": ["slash"],
    "help": ["f1"],
    "reason": ["s"],
    "records": ["v"],
    "points": ["o"],
    "number": ["c"],
    "insert": ["i"],
    "blind": ["h", "2"],
    "stopped": ["‹40›", "enter"],
}
REVIEW_PAGES = {f"review-{key}": [key] for key in "123456789"}
REVIEW_PAGES |= {f"review-7-{chart}": ["7"] * chart for chart in range(2, 6)}  # the further charts
REVIEW_PAGES |= {"review-point": ["3", "enter"]}
SCREENS = ["start", "brief", *FROM_WALK, *REVIEW_PAGES]


def lay_out(root: Path, disk: Disk) -> Workspace:
    """A workspace with one route whose titles are long, wide, and full of combining marks."""
    text = route_text(POINTS, title=LONG)
    text = text.replace('"Flap track 2 jumper"', f'"{WIDE}"').replace('"Flap track 7 jumper"', f'"{WIDE}"')
    text = text.replace('"Flap track 4 jumper"', f'"{MARKED}"').replace(
        '"Flap track 8 jumper"', f'"{MARKED}"'
    )
    (root / "routes").mkdir(exist_ok=True)
    (root / "routes" / "wing.toml").write_text(text, encoding="utf-8")
    return Workspace(root, disk)


def walked(workspace: Workspace) -> Desk:
    """Six readings, one of them failed, one voided, one point skipped."""
    desk = begin_desk(workspace)
    for value in VALUES:
        entry = desk.weigh(value)
        desk.record(entry, "read twice, the same" if entry.doubts else "")
    desk.void(5, "probe slipped off the strap")
    return desk


@asynccontextmanager
async def on_screen(name: str, workspace: Workspace, size: tuple[int, int]) -> AsyncIterator[Hand]:
    """The app with the screen called ``name`` in front, at rest."""
    desk = walked(workspace)
    if name in FROM_WALK:
        app = FieldApp(workspace, Ticking(), desk=desk)
        keys = FROM_WALK[name]
    else:
        desk.leave()
        keys = REVIEW_PAGES.get(name, [])
        if name == "start":
            app = FieldApp(workspace, Ticking())
        elif name == "brief":
            app = FieldApp(workspace, Ticking(), route=workspace.load_route("wing"))
        else:
            app = FieldApp(workspace, Ticking(), session=read_session(workspace.disk, desk.folder))
    listed = workspace.root / "list.csv"
    rows = [f"1,{number},{value},mohm," for number, value in enumerate([*VALUES[:3], "5.9", *VALUES[4:]], 5)]
    listed.write_text("\n".join(["run,number,value,unit,state", *rows]) + "\n", encoding="utf-8")
    async with walking(app, desk, size) as hand:
        await hand.press(*(key.format(list=listed) for key in keys))
        await app.workers.wait_for_complete() if name in ("start", "brief") else None
        await hand.settle()
        yield hand
    desk.leave()


def drawn(app: FieldApp) -> Iterator[tuple[int, list[tuple[str, object]]]]:
    """Each row of cells: how many there are, and the texts in them with their styles."""
    for strip in app.screen._compositor.render_strips(app.size):
        yield strip.cell_length, [(segment.text, segment.style) for segment in strip]


def every_dialog() -> set[str]:
    """The names of all dialogs and pages that are asked, without what they are built on."""
    return {
        name
        for package in (dialogs, pages)
        for module in pkgutil.iter_modules(package.__path__)
        for name, value in vars(import_module(f"{package.__name__}.{module.name}")).items()
        if inspect.isclass(value) and issubclass(value, Dialog)
    } - {"Dialog", "AskingScreen", "ListDialog"}
