"""Read from the source: the stair goes one way down, the core stands alone, no data becomes markup."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[1]
PACKAGE = ROOT / "fieldtui"
STAIR = ("errors", "core", "files", "desk", "report", "ui", "cli", "__main__")  # each may use those before it
IN_UI = ("actions", "widgets", "dialogs", "pages", "screens", "app")
FILES = sorted(path for path in PACKAGE.rglob("*.py") if not any(part.startswith(".") for part in path.parts))
MAX_LINES = 430  # a smell test, not a target: split where the idea splits
MAX_FUNCTION_LINES = 70  # one screen


def name_of(path: Path) -> str:
    parts = path.relative_to(ROOT).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" else parts)


@cache
def tree_of(path: Path) -> ast.Module:
    return ast.parse(path.read_text(encoding="utf-8"), str(path))


MODULES = {name_of(path): path for path in FILES}
every_module = pytest.mark.parametrize("path", FILES, ids=name_of)
ui_modules = pytest.mark.parametrize("path", [path for path in FILES if "ui" in path.parts], ids=name_of)


def imports(path: Path, *, only_at_load: bool = False) -> Iterator[str]:
    """Every module that ``path`` imports, anywhere in it or only where it is loaded."""
    tree = tree_of(path)
    for node in _statements(tree.body) if only_at_load else ast.walk(tree):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{name_of(path)}: relative import"
            assert node.module is not None
            for alias in node.names:
                full = f"{node.module}.{alias.name}"
                yield full if full in MODULES else node.module


def _statements(body: list[ast.stmt]) -> Iterator[ast.stmt]:
    """What runs when a module is loaded; the branch for type checkers does not."""
    for node in body:
        yield node
        if isinstance(node, ast.If) and "TYPE_CHECKING" not in ast.dump(node.test):
            yield from _statements(node.body + node.orelse)
        elif isinstance(node, ast.Try):
            yield from _statements([*node.body, *(each for h in node.handlers for each in h.body)])


def step_of(module: str) -> int | None:
    """How high on the stair a module of ours stands; None for the package itself and for others."""
    parts = module.split(".")
    return STAIR.index(parts[1]) if parts[0] == "fieldtui" and len(parts) > 1 else None


# --- directions --------------------------------------------------------------------------------------


def test_every_module_has_its_place_on_the_stair() -> None:
    for module in MODULES:
        assert module == "fieldtui" or step_of(module) is not None


@every_module
def test_imports_go_down_the_stair(path: Path) -> None:
    own = step_of(name_of(path))
    for module in imports(path):
        step = step_of(module)
        if step is not None:
            assert own is not None, "the package itself imports nothing"
            assert step <= own, f"{name_of(path)} imports {module}"


@ui_modules
def test_screens_do_not_reach_for_files(path: Path) -> None:
    assert not [module for module in imports(path) if module.startswith("fieldtui.files")]


@ui_modules
def test_screens_do_not_know_each_other(path: Path) -> None:
    parts = name_of(path).split(".")
    if parts[2:3] == ["screens"] and len(parts) == 4:
        # One screen may be spread over several modules; "asking" is what several are built on.
        known = (parts[3].split("_")[0], "asking")
        for module in imports(path):
            other = module.removeprefix("fieldtui.ui.screens.")
            assert other == module or other.split("_")[0] in known, f"{name_of(path)} imports {module}"


@ui_modules
def test_inside_the_screens_imports_go_down(path: Path) -> None:
    parts = name_of(path).split(".")
    if len(parts) < 3 or parts[2] not in IN_UI:
        return
    for module in imports(path):
        other = module.split(".")
        if other[:2] == ["fieldtui", "ui"] and len(other) > 2 and other[2] in IN_UI:
            assert IN_UI.index(other[2]) <= IN_UI.index(parts[2]), f"{name_of(path)} imports {module}"


@every_module
def test_only_the_screens_know_a_toolkit(path: Path) -> None:
    roots = {module.split(".")[0] for module in imports(path)}
    if "ui" not in path.parts:
        assert not roots & {"textual", "rich"}
    if "files" not in path.parts:
        assert not roots & {"pydantic", "pydantic_core", "tomllib", "tomli_w"}


def test_no_module_is_loaded_in_a_circle() -> None:
    needs = {
        name: [each for each in imports(path, only_at_load=True) if each in MODULES]
        for name, path in MODULES.items()
    }
    done: set[str] = set()

    def visit(module: str, way: tuple[str, ...]) -> None:
        assert module not in way, " -> ".join([*way[way.index(module) :], module])
        if module not in done:
            for each in needs[module]:
                visit(each, (*way, module))
            done.add(module)

    for module in needs:
        visit(module, ())


# --- the core is pure ----------------------------------------------------------------------------------

CORE = [path for path in FILES if "core" in path.parts]
OUTSIDE = frozenset(
    "os io sys pathlib time random secrets socket subprocess threading asyncio logging tempfile".split()
)


@pytest.mark.parametrize("path", CORE, ids=name_of)
def test_the_core_stands_on_the_standard_library_and_touches_nothing(path: Path) -> None:
    for module in imports(path):
        root = module.split(".")[0]
        assert root == "fieldtui" or root in sys.stdlib_module_names, module
        assert root not in OUTSIDE, module


@every_module
def test_time_and_chance_are_passed_in(path: Path) -> None:
    assert not {module.split(".")[0] for module in imports(path)} & {"random", "secrets", "uuid"}
    if name_of(path) == "fieldtui.desk.clock":
        return
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Attribute):
            assert node.attr not in ("utcnow", "today", "time_ns"), f"line {node.lineno}"
            is_now = node.attr == "now" and isinstance(node.value, ast.Name) and node.value.id == "datetime"
            assert not is_now, f"line {node.lineno}"


@pytest.mark.parametrize("path", CORE, ids=name_of)
def test_what_the_core_hands_out_cannot_be_changed(path: Path) -> None:
    """Dataclasses are frozen and slotted; the drafts that grow inside one function are named here."""
    growing = {"Draft"}
    for node in ast.walk(tree_of(path)):
        if not isinstance(node, ast.ClassDef) or node.name in growing or node.name.startswith("_"):
            continue
        for decorator in node.decorator_list:
            if "dataclass" in ast.dump(decorator):
                given = {k.arg for k in decorator.keywords} if isinstance(decorator, ast.Call) else set()
                assert given >= {"frozen", "slots"}, node.name


# --- what a reader of the code can take for granted ----------------------------------------------------


@every_module
def test_modules_and_functions_stay_readable(path: Path) -> None:
    lines = path.read_text(encoding="utf-8").splitlines()
    assert len(lines) <= MAX_LINES
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            length = (node.end_lineno or node.lineno) - node.lineno + 1
            assert length <= MAX_FUNCTION_LINES, f"{node.name} has {length} lines"


@every_module
def test_every_module_says_what_it_is_for(path: Path) -> None:
    if path.stat().st_size:
        assert ast.get_docstring(tree_of(path))


@every_module
def test_names_say_what_a_thing_is(path: Path) -> None:
    assert not re.search("util|helper|manager|misc|common", path.stem)


@every_module
def test_nothing_is_caught_that_was_not_meant(path: Path) -> None:
    """Only the last door, in the command line, catches everything; nobody swallows everything."""
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.ExceptHandler):
            caught = ast.unparse(node.type) if node.type is not None else "everything"
            if re.search(r"\b(Exception|BaseException|everything)\b", caught):
                assert name_of(path) == "fieldtui.cli", f"line {node.lineno}"
        elif isinstance(node, ast.Call) and _called(node) == "suppress":
            assert not {"Exception", "BaseException"} & {ast.unparse(each) for each in node.args}


@every_module
def test_nothing_is_left_to_do(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    assert not re.search(r"\b(TODO|FIXME|XXX|HACK)\b", text)
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef):
            assert not (len(node.body) == 1 and isinstance(node.body[0], ast.Pass)), node.name


# --- data on its way to the screen ---------------------------------------------------------------------

MARKUP = re.compile(r"\[(/|@|#|\$|[a-z])")  # what a toolkit would take for a tag
TAKES_TEXT = {
    "Static",
    "Label",
    "Button",
    "Digits",
    "Option",
    "update",
    "add_row",
    "add_column",
    "Header",
}


def _called(node: ast.Call) -> str:
    return node.func.attr if isinstance(node.func, ast.Attribute) else getattr(node.func, "id", "")


def _is_woven(node: ast.expr) -> bool:
    """A text put together from data: an f-string, ``%``, ``+`` or ``.format``. A count is no data."""
    if isinstance(node, ast.JoinedStr):
        data = [part.value for part in node.values if isinstance(part, ast.FormattedValue)]
        return any(not (isinstance(each, ast.Call) and _called(each) == "len") for each in data)
    if isinstance(node, ast.BinOp) and isinstance(node.op, ast.Mod | ast.Add):
        return any(isinstance(each, ast.Constant | ast.JoinedStr) for each in (node.left, node.right))
    return isinstance(node, ast.Call) and _called(node) == "format" and isinstance(node.func, ast.Attribute)


@ui_modules
def test_no_data_is_woven_into_markup(path: Path) -> None:
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.JoinedStr):
            fixed = "".join(each.value for each in node.values if isinstance(each, ast.Constant))
            assert not MARKUP.search(fixed), f"line {node.lineno}: {fixed}"
        if not isinstance(node, ast.Call):
            continue
        called = _called(node)
        assert called != "escape", f"line {node.lineno}: it alters or drops labels; use shown()"
        if called in ("from_markup", "render_markup", "to_content"):
            assert all(isinstance(each, ast.Constant) for each in node.args), f"line {node.lineno}"
        if called == "notify":
            given = {k.arg: k.value for k in node.keywords}
            assert ast.unparse(given.get("markup", ast.Constant(True))) == "False", f"line {node.lineno}"
        if called in TAKES_TEXT:
            woven = [each for each in node.args if _is_woven(each)]
            assert not woven, f"line {node.lineno}: {called} is given a text of data; use shown()"


@ui_modules
def test_titles_are_not_woven_from_data(path: Path) -> None:
    titles = {"border_title", "border_subtitle", "title", "sub_title", "tooltip", "placeholder"}
    for node in ast.walk(tree_of(path)):
        if isinstance(node, ast.Assign):
            for target in node.targets:
                if isinstance(target, ast.Attribute) and target.attr in titles:
                    assert not _is_woven(node.value), f"line {node.lineno}: {target.attr}"


# --- what a fresh process loads ------------------------------------------------------------------------


def loaded_by(statement: str) -> set[str]:
    """The top-level packages in a fresh process after ``statement``."""
    code = (
        f"import sys; {statement}; print(' '.join({{m.split('.')[0] for m in sys.modules}}), file=sys.stderr)"
    )
    done = subprocess.run(
        [sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, timeout=60, check=True
    )
    return set(done.stderr.split())


@pytest.mark.parametrize(
    "statement",
    [
        "import fieldtui.cli",
        "from fieldtui.cli import main; main(['--version'])",
        "from fieldtui.cli import main; main(['--help'])",
        "import fieldtui.core.survey.survey, fieldtui.errors",
    ],
)
def test_the_command_line_starts_light(statement: str) -> None:
    assert not loaded_by(statement) & {"textual", "rich", "pydantic", "pydantic_core", "tomli_w", "asyncio"}


def test_an_answer_without_a_screen_loads_no_toolkit() -> None:
    assert not loaded_by("from fieldtui.cli import main; main(['route', 'check', 'airframe-bonds'])") & {
        "textual",
        "rich",
    }


def test_a_walk_carries_nothing_that_it_does_not_show() -> None:
    """Resident memory: what makes schemas and reports, and what a walk that goes well never opens."""
    walk = "import fieldtui.ui.app, fieldtui.ui.screens.walk, fieldtui.desk.opening"
    assert not loaded_by(walk) & {"pydantic", "pydantic_core", "jinja2", "duckdb", "argcomplete"}
    idle = ("fieldtui.ui.pages.", "fieldtui.core.pairing.", "fieldtui.ui.screens.review")
    loaded_by(f"{walk}; assert not [each for each in sys.modules if each.startswith({idle})]")
