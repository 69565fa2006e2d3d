"""A small tower as STEP lines (ISO 10303-21, IFC4, millimetres), written without any library of models.

Three storeys of 4 m and four sides of 12 m. On every side of every storey hang four panels, the last of them
a corner panel. The south of the lower two storeys is one curtain wall over both, and all panels of the south
hang 100 mm below their floor. All curtain walls stand in the lowest storey's list. On two sides the boxes are
turned round, so that they stand before the line of the front and not behind it. A window with a plate of its
own, a plate that is part of nothing and two posts must not count. Four ceilings of 3 by 2 m hang in the
lowest storey, one to each side, 250 mm below the floor above.
"""

from pathlib import Path

SIDE, STOREY, PANEL = 12_000, 4_000, 3_000  # [mm]
THICK = 100
SIDES = {"north": (0, 1), "east": (1, 0), "south": (0, -1), "west": (-1, 0)}
_BASE = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz_$"


class Step:
    """Lines of a STEP file and their numbers."""

    def __init__(self):
        self.lines = []
        self.guids = 0

    def add(self, text):
        self.lines.append(f"#{len(self.lines) + 1}={text};")
        return f"#{len(self.lines)}"

    def guid(self):
        self.guids += 1
        return "'" + "0" * 20 + _BASE[self.guids // 64] + _BASE[self.guids % 64] + "'"

    def place(self, x, y, z, *, parent="$", direction=(1, 0)):
        point = self.add(f"IFCCARTESIANPOINT(({float(x)},{float(y)},{float(z)}))")
        up = self.add("IFCDIRECTION((0.,0.,1.))")
        along = self.add(f"IFCDIRECTION(({float(direction[0])},{float(direction[1])},0.))")
        return self.add(
            f"IFCLOCALPLACEMENT({parent},{self.add(f'IFCAXIS2PLACEMENT3D({point},{up},{along})')})"
        )

    def box(self, *, width, height, context, depth=THICK):
        """A box along x, of a depth in y and a height in z."""
        corner = self.add(f"IFCCARTESIANPOINT(({width / 2},{depth / 2}))")
        profile = self.add(
            f"IFCRECTANGLEPROFILEDEF(.AREA.,$,{self.add(f'IFCAXIS2PLACEMENT2D({corner},$)')},{width}.,{depth}.)"
        )
        origin = self.add("IFCCARTESIANPOINT((0.,0.,0.))")
        solid = self.add(
            f"IFCEXTRUDEDAREASOLID({profile},{self.add(f'IFCAXIS2PLACEMENT3D({origin},$,$)')},"
            f"{self.add('IFCDIRECTION((0.,0.,1.))')},{height}.)"
        )
        shape = self.add(f"IFCSHAPEREPRESENTATION({context},'Body','SweptSolid',({solid}))")
        return self.add(f"IFCPRODUCTDEFINITIONSHAPE($,$,({shape}))")


def write_tower(
    path, *, unit=".MILLI.", north=None, elevations=(0, 4000, 8000), names=("L1", "L2", "L3"), low=None
):
    """Write the tower; `low` sinks one panel of the first storey by so many mm."""
    step = Step()
    origin = step.add("IFCCARTESIANPOINT((0.,0.,0.))")
    axes = step.add(f"IFCAXIS2PLACEMENT3D({origin},$,$)")
    true = "$" if north is None else step.add(f"IFCDIRECTION(({float(north[0])},{float(north[1])}))")
    context = step.add(f"IFCGEOMETRICREPRESENTATIONCONTEXT($,'Model',3,1.E-5,{axes},{true})")
    units = []
    if unit is not None:
        units.append(step.add(f"IFCSIUNIT(*,.LENGTHUNIT.,{unit},.METRE.)"))
    units.append(step.add("IFCSIUNIT(*,.PLANEANGLEUNIT.,$,.RADIAN.)"))
    assignment = step.add(f"IFCUNITASSIGNMENT(({','.join(units)}))")
    project = step.add(f"IFCPROJECT({step.guid()},$,'Test',$,$,$,$,({context}),{assignment})")
    ground = step.place(0, 0, 0)
    building = step.add(f"IFCBUILDING({step.guid()},$,'Tower',$,$,{ground},$,$,.ELEMENT.,$,$,$)")
    step.add(f"IFCRELAGGREGATES({step.guid()},$,$,$,{project},({building}))")
    types = {
        name: step.add(f"IFCPLATETYPE({step.guid()},$,'{name}',$,$,$,$,$,$,.NOTDEFINED.)")
        for name in ("FLAT 3000", "CORNER 3000", "GLASS")
    }
    storeys = []
    for name, elevation in zip(names, elevations, strict=True):
        at = step.place(0, 0, elevation or 0, parent=ground)
        height = "$" if elevation is None else f"{float(elevation)}"
        storeys.append(
            step.add(f"IFCBUILDINGSTOREY({step.guid()},$,'{name}',$,$,{at},$,$,.ELEMENT.,{height})")
        )
    step.add(f"IFCRELAGGREGATES({step.guid()},$,$,$,{building},({','.join(storeys)}))")
    of_type = {name: [] for name in types}
    contained = {storey: [] for storey in storeys}
    for side, facing in SIDES.items():
        same = {"side": side, "facing": facing, "context": context, "of_type": of_type, "low": low}
        tall = _plates(step, floors=(0, 1), **same)
        top = _plates(step, floors=(2,), **same)
        _property(step, of=[*tall, *top], value=f"{side} face")
        walls = [tall, top] if side == "south" else [tall[:4], tall[4:], top]
        for plates in walls:
            wall = step.add(f"IFCCURTAINWALL({step.guid()},$,'{side}',$,$,{ground},$,$,.NOTDEFINED.)")
            step.add(f"IFCRELAGGREGATES({step.guid()},$,$,$,{wall},({','.join(plates)}))")
            contained[storeys[0]].append(wall)  # hung in one storey, whatever it spans
    _decoys(step, ground=ground, context=context, of_type=of_type, contained=contained[storeys[0]])
    for name, plates in of_type.items():
        step.add(f"IFCRELDEFINESBYTYPE({step.guid()},$,$,$,({','.join(plates)}),{types[name]})")
    for storey, elements in contained.items():
        if elements:
            listed = ",".join(elements)
            step.add(f"IFCRELCONTAINEDINSPATIALSTRUCTURE({step.guid()},$,$,$,({listed}),{storey})")
    head = [
        "ISO-10303-21;",
        "HEADER;",
        "FILE_DESCRIPTION(('ViewDefinition [ReferenceView]'),'2;1');",
        "FILE_NAME('tower.ifc','2027-03-01T00:00:00',(''),(''),'','','');",
        "FILE_SCHEMA(('IFC4'));",
        "ENDSEC;",
        "DATA;",
    ]
    Path(path).write_text("\n".join([*head, *step.lines, "ENDSEC;", "END-ISO-10303-21;"]) + "\n")
    return path


def _plates(step, *, side, facing, floors, context, of_type, low):
    """Four panels a storey along one side, the last a corner panel."""
    plates = []
    x, y = facing
    for floor in floors:
        for k in range(4):
            # Along the side to the left of who looks out; on two sides the box is turned round.
            turned = side in ("east", "west")
            along = (k - 2) * PANEL + (PANEL if turned else 0)
            direction = (-y, x) if turned else (y, -x)
            sign = -1 if turned else 1
            px, py = x * SIDE / 2 + sign * direction[0] * along, y * SIDE / 2 + sign * direction[1] * along
            sunk = 100 if side == "south" else 0
            if low is not None and side == "north" and floor == 0 and k == 0:
                sunk = low
            at = step.place(px, py, floor * STOREY - sunk, direction=direction)
            body = step.box(width=PANEL, height=STOREY - 200, context=context)
            plate = step.add(f"IFCPLATE({step.guid()},$,'panel',$,$,{at},{body},$,$)")
            of_type["CORNER 3000" if k == 3 else "FLAT 3000"].append(plate)
            plates.append(plate)
    return plates


def _property(step, *, of, value):
    """Front.Side of some elements."""
    single = step.add(f"IFCPROPERTYSINGLEVALUE('Side',$,IFCLABEL('{value}'),$)")
    group = step.add(f"IFCPROPERTYSET({step.guid()},$,'Front',$,({single}))")
    step.add(f"IFCRELDEFINESBYPROPERTIES({step.guid()},$,$,$,({','.join(of)}),{group})")


def _decoys(step, *, ground, context, of_type, contained):
    """A window with a plate and a plate by itself, both of glass, and two members."""
    at = step.place(0, SIDE / 2, 1000)
    pane = step.add(
        f"IFCPLATE({step.guid()},$,'pane',$,$,{at},{step.box(width=900, height=900, context=context)},$,$)"
    )
    window = step.add(f"IFCWINDOW({step.guid()},$,'window',$,$,{ground},$,$,$,$,$,$,$)")
    step.add(f"IFCRELAGGREGATES({step.guid()},$,$,$,{window},({pane}))")
    alone = step.add(
        f"IFCPLATE({step.guid()},$,'shelf',$,$,{at},{step.box(width=900, height=50, context=context)},$,$)"
    )
    of_type["GLASS"] += [pane, alone]
    for x, y in ((-1500, 3000), (3000, -1000), (-1500, -5000), (-6000, -1000)):
        place = step.place(x, y, STOREY - 250)  # nearer to the floor above than to its own
        slab = step.box(width=PANEL, height=50, depth=2000, context=context)
        contained.append(step.add(f"IFCCOVERING({step.guid()},$,'ceiling',$,$,{place},{slab},$,.CEILING.)"))
    members = [step.add(f"IFCMEMBER({step.guid()},$,'post',$,$,{ground},$,$,$)") for _ in range(2)]
    contained += [window, alone, *members]
