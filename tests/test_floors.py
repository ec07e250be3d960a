"""The house stands on floors: a module imports only from floors below its own, and neighbours do not know each other.

Read from the source itself, imports inside functions and for types included.
"""

import ast
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import pytest

SOURCE = Path(__file__).resolve().parents[1] / "src"
PACKAGE = "loopwright"

FLOORS = (
    {"units", "figure", "problems", "runner", "sources"},
    {"yarn", "structure"},
    {"fabric", "garment"},
    {"shaping", "swatch", "mechanics"},
    {"cost", "machine", "makeup"},
    {"study"},
    {"draw", "options", "season"},
    {"store", "report"},
    {"cli", "web"},
)
LEVEL = {name: level for level, names in enumerate(FLOORS) for name in names}
KNOW_EACH_OTHER = {("cost", "makeup"), ("cli", "web")}  # and everything on the ground
ROOT_FOR_ITS_VERSION = {"cli", "report", "web"}


def modules() -> dict[str, Path]:
    """Dotted name and file of every module of ours."""
    found = {}
    for file in sorted((SOURCE / PACKAGE).rglob("*.py")):
        parts = file.relative_to(SOURCE).with_suffix("").parts
        found[".".join(parts[:-1] if parts[-1] == "__init__" else parts)] = file
    return found


MODULES = modules()
inside = [name for name in MODULES if name not in (PACKAGE, f"{PACKAGE}.__main__")]
ROOMS = sorted({name.split(".")[1] for name in inside})
every_room = pytest.mark.parametrize("here", ROOMS)


@cache
def nodes(module: str) -> tuple[ast.Import | ast.ImportFrom | ast.ExceptHandler, ...]:
    """The imports and the excepts of a module, read once."""
    kept = (ast.Import, ast.ImportFrom, ast.ExceptHandler)
    return tuple(node for node in ast.walk(ast.parse(MODULES[module].read_text("utf-8"))) if isinstance(node, kept))


def imports(module: str) -> Iterator[tuple[str, tuple[str, ...]]]:
    """(module imported, names taken from it) for every import of our own package."""
    for node in nodes(module):
        if isinstance(node, ast.Import):
            yield from ((alias.name, ()) for alias in node.names if alias.name.split(".")[0] == PACKAGE)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{module} imports relatively"
            if node.module and node.module.split(".")[0] == PACKAGE:
                yield node.module, tuple(alias.name for alias in node.names)


def targets(module: str) -> set[str]:
    """Modules of ours that a module imports; `from package import module` counts as the module."""
    found = set()
    for name, taken in imports(module):
        below = {f"{name}.{each}" for each in taken} & set(MODULES)
        found |= below or {name}
    return found


def room(module: str) -> str:
    """Package or module right under the root: "fabric" of "loopwright.fabric.mass"."""
    return module.split(".")[1]


def modules_in(here: str) -> list[str]:
    """Every module of one room."""
    return [module for module in inside if room(module) == here]


def test_every_room_of_the_house_is_on_a_floor():
    assert set(ROOMS) <= set(LEVEL)


@every_room
def test_a_module_imports_only_from_floors_below_its_own(here):
    for module in modules_in(here):
        for target in targets(module) - {PACKAGE}:
            there = room(target)
            if there == here or (here, there) in KNOW_EACH_OTHER or LEVEL[here] == LEVEL[there] == 0:
                continue
            assert LEVEL[there] < LEVEL[here], f"{module} imports {target}"


@every_room
def test_the_package_root_is_imported_for_its_version_only(here):
    for module in modules_in(here):
        for name, taken in imports(module):
            if name == PACKAGE and not {f"{PACKAGE}.{each}" for each in taken} & set(MODULES):
                assert taken == ("__version__",), module
                assert here in ROOT_FOR_ITS_VERSION, module


def test_no_imports_run_in_a_circle():
    arrows = {module: targets(module) & set(MODULES) for module in MODULES}
    done: set[str] = set()

    def walk(module: str, path: tuple[str, ...]) -> None:
        assert module not in path, " > ".join([*path[path.index(module) :], module])
        if module not in done:
            for target in sorted(arrows[module]):
                walk(target, (*path, module))
            done.add(module)

    for module in sorted(MODULES):
        walk(module, ())


CORE = [here for here in ROOMS if LEVEL.get(here, 0) <= LEVEL["draw"]]
OUTER_WORLD = {
    "os",
    "pathlib",
    "subprocess",
    "socket",
    "urllib",
    "http",
    "sqlite3",
    "time",
    "datetime",
    "random",
    "typer",
}


@pytest.mark.parametrize("here", CORE)
def test_the_core_knows_no_file_clock_or_network(here):
    """Packaged tables are read by `sources` alone, through importlib."""
    for module in modules_in(here):
        for node in nodes(module):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            names += [node.module or ""] if isinstance(node, ast.ImportFrom) else []
            assert not {name.split(".")[0] for name in names} & OUTER_WORLD, module


@every_room
def test_no_module_catches_everything(here):
    for module in modules_in(here):
        for node in nodes(module):
            if isinstance(node, ast.ExceptHandler):
                caught = ast.unparse(node.type) if node.type else "everything"
                assert caught not in ("everything", "Exception", "BaseException"), f"{module}:{node.lineno}"
