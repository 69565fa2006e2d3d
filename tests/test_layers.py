"""The house: imports run one way, only some modules may import some libraries, the face is pinned."""

import ast
from functools import cache
from importlib import import_module
from inspect import ismodule
from pathlib import Path

import towerpace

PACKAGE = Path(towerpace.__file__).parent
FLOORS = [
    {"faults", "units"},
    {"compiling"},
    {"lots"},
    {"scenario", "climate"},
    {"bring"},
    {"plan"},
    {"record"},
    {"draws"},
    {"engine"},
    {"trials"},
    {"answers"},
    {"render"},
    {"face"},
    {"start"},
    {"workbench"},
    {"cli"},
]
ONLY_IN = {
    "simpy": {"engine/reference.py", "engine/turns.py"},
    "matplotlib": {"render"},
    "typer": {"cli"},
    "rich": {"cli"},
    "starlette": {"workbench"},
    "uvicorn": {"workbench"},
    "openpyxl": set(),  # those of the extras are imported by name, in bring/extras.py alone
    "icalendar": set(),
    "recurring_ical_events": set(),
    "holidays": set(),
    "ifcopenshell": set(),
}


def modules():
    return sorted(PACKAGE.rglob("*.py"))


def name_of(path):
    return ".".join(("towerpace", *path.relative_to(PACKAGE).with_suffix("").parts)).removesuffix(".__init__")


@cache
def named_modules():
    return {name_of(path) for path in modules()}


@cache
def imported(path):
    """Names of all modules a file imports, those inside functions and for type checks included."""
    return tuple(_imported(path))


def _imported(path):
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path.name}: relative import"
            if node.module == "towerpace":
                yield from (f"towerpace.{alias.name}" for alias in node.names)
            else:
                inside = {f"{node.module}.{alias.name}" for alias in node.names} & named_modules()
                yield from inside or [node.module]


def floor(part):
    return next((k for k, floors in enumerate(FLOORS) if part in floors), None)


def part_of(path):
    inside = path.relative_to(PACKAGE)
    return inside.parts[0] if len(inside.parts) > 1 else inside.stem


def test_every_module_stands_on_a_floor():
    parts = {part_of(path) for path in modules()} - {"__init__"}
    assert parts == set().union(*FLOORS)


def test_imports_run_upward_only():
    wrong = []
    for path in modules():
        part = part_of(path)
        for name in imported(path):
            if name.startswith("towerpace.") and part != "__init__":
                other = name.split(".")[1]
                if other.startswith("__"):
                    continue
                if other != part and floor(other) >= floor(part):
                    wrong.append(f"{path.relative_to(PACKAGE)} imports {name}")
    assert not wrong


def test_no_module_comes_back_to_itself():
    """No circle of imports, those inside functions and for type checks included."""
    reached = {name_of(path): set(imported(path)) for path in modules()}
    on_the_way, left = [], set()

    def walk(name):
        if name in on_the_way:
            return [*on_the_way[on_the_way.index(name) :], name]
        if name in left or name not in reached or name == "towerpace":
            return None
        on_the_way.append(name)
        circle = next((found for other in sorted(reached[name]) if (found := walk(other))), None)
        left.add(on_the_way.pop())
        return circle

    assert [circle for name in reached if (circle := walk(name))] == []


def test_the_rooms_of_render_are_in_order():
    order = ["cautions", "tables", "saved", "figures", "page"]
    wrong = []
    for room in order[1:]:
        for path in (PACKAGE / "render" / room).glob("*.py"):
            for name in imported(path):
                other = name.split(".")[2] if name.startswith("towerpace.render.") else room
                if other in order and order.index(other) > order.index(room):
                    wrong.append(f"{room}/{path.name} imports {name}")
    assert not wrong


def test_libraries_stay_in_their_rooms():
    wrong = []
    for path in modules():
        inside = path.relative_to(PACKAGE).as_posix()
        for name in imported(path):
            rooms = ONLY_IN.get(name.split(".")[0])
            if rooms is not None and not any(
                inside == room or inside.startswith(f"{room}/") for room in rooms
            ):
                wrong.append(f"{inside} imports {name}")
    assert not wrong


def test_what_brings_files_in_is_asked_by_the_command_line_only():
    askers = {
        part_of(path) for path in modules() for name in imported(path) if name.startswith("towerpace.bring")
    }
    assert askers == {"bring", "cli"}


def test_only_draws_makes_random_generators():
    makers = ("default_rng", "Generator(", "Philox", "RandomState", "np.random.seed", "random.Random")
    allowed = {PACKAGE / "draws.py", PACKAGE / "lots" / "philox.py"}  # the latter counts, it makes none
    others = [p for p in modules() if p not in allowed]
    wrong = [p.name for p in others if any(m in p.read_text(encoding="utf-8") for m in makers)]
    assert not wrong


def test_the_face_is_pinned():
    assert set(towerpace.__all__) == {
        "After",
        "Compiled",
        "Diary",
        "Draw",
        "Give",
        "InputError",
        "LATER",
        "OwnLaw",
        "OwnRule",
        "OwnSpread",
        "Plan",
        "Pool",
        "Step",
        "Window",
        "add",
        "ahead",
        "baseline",
        "bid",
        "build",
        "check",
        "choose",
        "compare",
        "delay",
        "events",
        "explain",
        "forecast",
        "know",
        "load",
        "load_study",
        "rates",
        "report",
        "run",
        "score",
        "sheet",
        "sweep",
        "use",
        "update",
        "weather",
    }


def test_no_module_stands_in_the_place_of_a_public_name():
    """Importing a module sets it as an attribute of its package, where a function of the name would be."""
    for path in modules():
        import_module(
            ".".join(path.relative_to(PACKAGE.parent).with_suffix("").parts).removesuffix(".__init__")
        )
    for name in towerpace.__all__:
        assert not ismodule(getattr(towerpace, name)), name


def test_modules_stay_small():
    assert [p.name for p in modules() if len(p.read_text(encoding="utf-8").splitlines()) > 400] == []
