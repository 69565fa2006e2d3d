"""Counts from a building model, against counts taken from its STEP lines by regular expressions alone."""

import csv
import re
import sys
import tomllib
from collections import Counter
from pathlib import Path

import pytest

from bring.ifc_tower import write_tower

MAP = """
north = "project"
[level]
L1 = 1
L2 = 2
L3 = 3
[zone]
north = [315, 45]
east = [45, 135]
south = [135, 225]
west = [225, 315]
[[count]]
class = "IfcPlate"
type = "FLAT *"
inside = "IfcCurtainWall"
column = "flat"
[[count]]
class = "IfcPlate"
type = "CORNER *"
inside = "IfcCurtainWall"
column = "corner"
"""


@pytest.fixture
def brought(bring):
    """Bring in the tower by a mapping; the run and its table by level and zone."""

    def run(*words, text=MAP, model=None, **tower):
        if model is None:
            write_tower("tower.ifc", **tower)
        else:
            Path("tower.ifc").write_text(model)
        Path("model.toml").write_text(text)
        done = bring("quantities", "tower.ifc", "--map", "model.toml", *words)
        if done.faults:
            return done, {}
        with Path("quantities.csv").open() as lines:
            return done, {(int(row["level"]), row["zone"]): row for row in csv.DictReader(lines)}

    return run


def counted_from_lines(path):
    """Panels inside curtain walls by level, side and kind: from the lines alone, without geometry."""
    line = dict(re.findall(r"^(#\d+)=(.*);$", Path(path).read_text(), flags=re.MULTILINE))
    refs = {key: re.findall(r"#\d+", text) for key, text in line.items()}
    types = {
        key: re.search(r"'(FLAT|CORNER) ", text)
        for key, text in line.items()
        if text.startswith("IFCPLATETYPE")
    }
    kind, in_wall = {}, set()
    for key, text in line.items():
        if text.startswith("IFCRELDEFINESBYTYPE"):
            *plates, of_type = refs[key]
            kind.update({plate: types[of_type][1].lower() for plate in plates if types[of_type]})
        if text.startswith("IFCRELAGGREGATES") and line[refs[key][0]].startswith("IFCCURTAINWALL"):
            in_wall.update(refs[key][1:])
    counts = Counter()
    for plate in in_wall:
        point, _, along = refs[refs[refs[plate][0]][-1]]
        x, y, z = (float(c) for c in re.findall(r"-?\d+\.\d*", line[point]))
        runs_east_west = abs(float(re.findall(r"-?\d+\.\d*", line[along])[0])) == 1
        side = ("north" if y > 0 else "south") if runs_east_west else ("east" if x > 0 else "west")
        counts[int((z + 300) // 4000) + 1, side, kind[plate]] += 1
    return counts


def test_panels_by_level_and_zone_are_those_of_the_lines(brought):
    """The curtain wall over two storeys hangs in one, and its panels belong to the level of their bottom."""
    run, table = brought()
    expected = counted_from_lines("tower.ifc")
    assert sum(expected.values()) == 48
    got = {(*front, kind): int(row[kind]) for front, row in table.items() for kind in ("flat", "corner")}
    assert got == dict(expected)
    assert "68 building elements: 48 brought in, 20 left out (11 IfcCurtainWall, 4 IfcCovering, " in run.text
    assert "2 IfcMember, 2 IfcPlate not inside IfcCurtainWall, 1 IfcWindow)" in run.text
    assert [row["height_m"] for front, row in table.items() if front[1] == "north"] == ["0", "4", "8"]


def test_a_model_of_the_older_schema_gives_the_same_counts(brought):
    """IFC2X3 has no predefined types of plates, members and curtain walls; windows say less."""
    _, expected = brought()
    model = Path("tower.ifc").read_text().replace("'IFC4'", "'IFC2X3'")
    model = re.sub(r"(=IFC(?:PLATE|MEMBER)\(.*),\$\);", r"\1);", model)
    model = re.sub(r"(=IFCWINDOW\(.*),\$,\$,\$\);", r"\1);", model)
    model = re.sub(r"(=IFCCURTAINWALL\(.*),\.NOTDEFINED\.\);", r"\1);", model)
    run, got = brought("--replace", model=model)
    assert "68 building elements: 48 brought in" in run.text
    assert got == expected


def test_a_curtain_wall_itself_counts_once_where_it_begins(brought):
    """Eleven walls, that over two storeys in the lower one; its shape is that of its panels."""
    text = MAP[: MAP.index("[[count]]")] + '[[count]]\nclass = "IfcCurtainWall"\ncolumn = "walls"\n'
    _, table = brought(text=text)
    assert {front: int(row["walls"]) for front, row in table.items() if front[1] == "south"} == {
        (1, "south"): 1,
        (2, "south"): 0,
        (3, "south"): 1,
    }
    assert sum(int(row["walls"]) for row in table.values()) == 11


def test_the_area_is_that_of_one_face(brought):
    """A panel of 3.0 by 3.8 m, 100 mm thick: 11.4 m2, three of them on a front."""
    text = MAP.replace('column = "flat"', 'column = "lining_m2"\nmeasure = "area_m2"')
    run, table = brought(text=text)
    assert {row["lining_m2"] for row in table.values()} == {"34"}
    assert "lining_m2: 36 elements, 410.4 m2 of one face; north 102.6 m2" in run.text
    assert "written as 408, whole m2 of each level and zone" in run.text


CEILINGS = """[[count]]
class = "IfcCovering"
column = "lining_m2"
measure = "area_m2"
level_by = "storey"
zone_by = "position"
"""


def test_ceilings_belong_to_the_storey_that_lists_them_and_the_side_they_lie_on(brought):
    """Of 3 by 2 m each; by their bottom, 250 mm below the floor above, they would be a level too high."""
    _, table = brought(text=MAP + CEILINGS)
    assert [table[1, zone]["lining_m2"] for zone in ("north", "east", "south", "west")] == ["6"] * 4
    assert {row["lining_m2"] for front, row in table.items() if front[0] > 1} == {"0"}
    _, table = brought("--replace", text=MAP + CEILINGS.replace('"storey"', '"bottom"'))
    assert [table[2, zone]["lining_m2"] for zone in ("north", "east", "south", "west")] == ["6"] * 4
    run, _ = brought("--replace", text=MAP + CEILINGS.replace('"position"', '"face"'))
    assert run.faults.count("no direction: a face that looks up") == 4


def test_true_north_turns_the_zones(brought):
    """True north along the model's x axis: the side that looks along y, which lacks a panel, looks west."""
    text = MAP.replace('"project"', '"true"')
    _, table = brought("--leave-out", text=text, north=(1, 0), low=500)
    assert {zone: table[1, zone]["flat"] for zone in ("north", "east", "south", "west")} == {
        "north": "3",
        "east": "3",
        "south": "3",
        "west": "2",
    }
    run, _ = brought("--replace", text=text)
    assert 'TrueNorth: missing; allowed: a model that says it, or north = "project"' in run.faults


def test_a_turned_model_moves_a_panel_to_the_zone_it_faces(brought):
    only_north = re.sub(r"\n(east|south|west) = .*", "", MAP)
    _, table = brought("--leave-out", text=only_north)
    assert set(table) == {(1, "north"), (2, "north"), (3, "north")}
    _, turned = brought(
        "--leave-out", "--replace", text=only_north.replace('"project"', '"true"'), north=(1, 0)
    )
    assert [row["flat"] for row in turned.values()] == ["3", "3", "3"]
    run, _ = brought("--replace", text=only_north)
    assert "faces 90.0 degrees, which is no zone; allowed: a place in a level and zone" in run.faults


def test_zones_by_a_property_of_the_panels(brought):
    text = re.sub(r"\[zone\].*?(?=\[\[count)", "", MAP, count=1, flags=re.DOTALL)
    _, table = brought(text='zone_property = "Front.Side"\n' + text)
    assert table[2, "south face"]["flat"] == "3"
    assert len(table) == 12
    run, _ = brought("--replace", text='zone_property = "Front.Face"\n' + text)
    assert "found 28 more faults of this file" in run.faults  # 20 of 48 are shown
    assert "no property Front.Face" in run.faults


def test_a_panel_below_the_tolerance_is_refused_or_listed(brought):
    run, _ = brought(low=500)
    assert run.faults.count("IfcPlate ") == 1
    assert "(FLAT 3000): found bottom at -0.500 m, below the lowest storey or listed in none" in run.faults
    run, table = brought("--leave-out", low=500)
    assert "1 in no level or zone" in run.text
    assert table[1, "north"]["flat"] == "2"
    left_out = tomllib.loads(Path("quantities.provenance.toml").read_text())["sums"]["left_out"]
    assert left_out[0].endswith("(FLAT 3000): bottom at -0.500 m, below the lowest storey or listed in none")
    _, table = brought("--replace", text="tolerance_m = 0.6\n" + MAP, low=500)
    assert table[1, "north"]["flat"] == "3"


def test_a_storey_that_is_no_level_is_told(brought):
    run, _ = brought(text=MAP.replace("L3 = 3\n", ""))
    assert 'in storey "L3", which is no level' in run.faults
    run, table = brought("--leave-out", text=MAP.replace("L3 = 3\n", ""))
    assert "16 in no level or zone" in run.text
    assert "! Storeys that are no level: L3" in run.text
    assert len(table) == 8


def test_the_counts_go_into_a_level_table(brought):
    heading = "level,zone,height_m,difficulty,handover,flat\n"
    rows = [
        f"{k},{zone},{4 * k},1,2027-03-0{k},99\n"
        for k in (1, 2, 3)
        for zone in ("north", "east", "south", "west")
    ]
    Path("base.csv").write_text(heading + "".join(rows))
    run, table = brought("--levels", "base.csv")
    assert table[2, "east"] == {
        "level": "2", "zone": "east", "height_m": "8", "difficulty": "1", "handover": "2027-03-02",
        "flat": "3", "corner": "1",
    }  # fmt: skip
    assert "No level table yet" not in run.text
    came_from = tomllib.loads(Path("quantities.provenance.toml").read_text())
    assert [source["file"] for source in came_from["source"]] == ["tower.ifc", "model.toml", "base.csv"]
    Path("base.csv").write_text(heading + "".join(rows[:8]))
    run, _ = brought("--levels", "base.csv", "--replace")
    assert 'missing level 3, zone "east", where the model has elements' in run.faults


def whole(**tower):
    return write_tower("whole.ifc", **tower).replace("whole.ifc", "") or Path("whole.ifc").read_text()


BAD_MODELS = {
    "no panels": (
        lambda: whole().replace("IFCPLATE(", "IFCMEMBER("),
        "found none of IfcPlate of type FLAT *, ",
    ),
    "no storeys": (
        lambda: re.sub(r"#\d+=IFC(BUILDINGSTOREY|RELCONTAINED|RELAGGREGATES\('0+0L').*\n", "", whole()),
        "IfcBuildingStorey: missing",
    ),
    "a blank elevation": (lambda: whole(elevations=(0, None, 8000)), 'storey "L2" '),
    "equal elevations": (
        lambda: whole(elevations=(0, 4000, 4000)),
        "found 4 m, as L2; allowed: storeys above",
    ),
    "no unit of length": (lambda: whole(unit=None), "IfcUnitAssignment: missing unit of length"),
    "not STEP": (lambda: "<ifcXML/>", "line 1  file: found no STEP file"),
    "cut short": (lambda: whole()[:9000], "an end without END-ISO-10303-21;; allowed: the whole file"),
    "an unknown schema": (lambda: whole().replace("'IFC4'", "'IFC9'"), "Unsupported schema: IFC9"),
    "a storey that is not there": (lambda: whole(names=("L1", "L2", "Roof")), 'level."L3": missing storey'),
    "two storeys of a name": (
        lambda: whole(names=("L1", "L1", "L3")),
        'level."L1": found 2 storeys of this name',
    ),
}


@pytest.mark.parametrize("name", BAD_MODELS)
def test_a_model_that_does_not_say_enough_is_refused(name, brought):
    model, said = BAD_MODELS[name]
    run, _ = brought(model=model())
    assert said in run.faults


def test_a_model_without_panels_names_what_it_has(brought):
    run, _ = brought(model=whole().replace("IFCPLATE(", "IFCMEMBER("))
    assert "allowed: in the model: 52 IfcMember, 11 IfcCurtainWall, 4 IfcCovering, 1 IfcWindow" in run.faults


BAD_MAPS = {
    "two patterns for one type": ('"CORNER *"', '"*"', 'found two rules, "FLAT *" (flat) and "*" (corner)'),
    "an unknown class": (
        '"IfcPlate"',
        '"IfcPanel"',
        'count: found the class "IfcPanel"; allowed: a class of IFC4',
    ),
    "an unknown key": (
        "inside =",
        "in =",
        "model.toml: 2 faults\n  line 15  count[0].in: found an unknown key",
    ),
    "zones that overlap": ("[45, 135]", "[40, 135]", "zone.east: found 40 degrees, which lie in north too"),
    "degrees from nowhere": ('north = "project"', "", 'north: missing; allowed: "project" or "true"'),
    "no zones": ("[zone]", "[zones]", "zones: found an unknown key"),
    "a level twice": ("L2 = 2", "L2 = 1", "level.L2: found 1 twice"),
    "a column no table may have": ('"flat"', '"Flat panels"', 'count[0].column: found "Flat panels"'),
    "no TOML": ("[level]", "[level", "syntax"),
}


@pytest.mark.parametrize("name", BAD_MAPS)
def test_a_mapping_that_is_wrong_is_one_clear_fault(name, brought):
    old, new, said = BAD_MAPS[name]
    run, _ = brought(text=MAP.replace(old, new))
    assert said in run.faults


def test_a_missing_library_names_its_extra(brought, monkeypatch):
    monkeypatch.setitem(sys.modules, "ifcopenshell", None)
    run, _ = brought()
    assert "missing library ifcopenshell; allowed: pip install 'towerpace[model]'" in run.faults
