"""Ways of lifting panels in beside the floor crane: a hook, a beam run from above, hands from inside."""

from typing import Annotated, Literal

from pydantic import Field

from towerpace.scenario.fields import (
    Count,
    Names,
    NumberAbove0,
    SourcedTable,
    SpreadFrom0,
    Text,
    Truth,
)
from towerpace.scenario.meanings import key
from towerpace.scenario.quantities import Value
from towerpace.scenario.schema.trades import After
from towerpace.scenario.spreads import Spread
from towerpace.scenario.words import Words

FLOOR_CRANE = "crane"  # names the floor cranes of [crane] where a method is named


class Method(SourcedTable):
    """One way of lifting panels: what it takes, how long it keeps it, where it stands, and its cycle."""

    needs: Annotated[
        dict[str, Count],
        Words("resource = quantity"),
        key(
            "Resources that it lifts with, beside what the trade needs: the tower crane, a beam with its "
            "winch. None where panels are set by hand.",
            "{ tower_crane = 1 }",
            unit="units",
        ),
    ] = Field(default_factory=dict)
    kept: Annotated[
        Literal["panel", "front", "strip"],
        key(
            'How long it keeps them: for one panel, so that others have the hook between two ("panel"); for '
            'all panels of a front ("front"); or from its first front in a zone until its last one is done, '
            'as a beam that hangs over a strip ("strip").',
            '"panel"',
        ),
    ] = "front"
    straight: Annotated[
        Truth,
        key(
            "Whether panels are lifted straight from the truck or the ground: their crates take no hoist, no "
            "floor slots and no yard slots, and stand where ground_crates says.",
            "true",
        ),
    ] = False
    ground_crates: Annotated[
        Count | None,
        key(
            "Room for crates within its reach on the ground, on trailers or put down. It is taken for all "
            "crates of a front when the front may begin, before its trucks are let in; without the key there "
            "is always room. Only with straight = true.",
            "24",
            unit="crates",
        ),
    ] = None
    inside: Annotated[
        Truth,
        key(
            "Whether panels are set from inside, so that none hangs outside on its way: the zones beside "
            "(crane.drop_zone) are not kept clear, only the strip of its own zone.",
            "true",
        ),
    ] = False
    after: Annotated[
        tuple[After, ...],
        Words("a list of tables"),
        key(
            "What must be done before a front may start that is set this way, in place of the trade's own "
            "after: a hook stands on no level, a beam hangs some levels above.",
            '[{ on = "brackets" }, { on = "panels", levels_up = -1 }]',
        ),
    ] = ()
    calendar: Annotated[
        Text | None,
        key(
            "Hours in which it lifts, in place of the trade's calendar: what the structure leaves of the "
            "tower crane.",
            '"hook"',
        ),
    ] = None
    limits: Annotated[
        Names | None,
        key(
            "Limits of weather held at the panel's height, in place of those of the family: no lift begins "
            "beyond them. Empty where weather stops nothing.",
            '["panel_on_hook"]',
        ),
    ] = None
    set_factor: Annotated[
        NumberAbove0,
        key("Setting time of a panel this way over set_min of its family.", "1.2", unit="-"),
    ] = Value(1.0)
    cycle_min: Annotated[
        SpreadFrom0,
        key(
            "What each panel takes on top, hooking on, slewing and letting go; neither the difficulty of the "
            "front nor learning stretches it, the pace of the trade does.",
            '{ low = 6, likely = 10, high = 20, shape = "pert" }',
        ),
    ] = Spread.constant(0.0)
    speed_m_s: Annotated[
        NumberAbove0 | None,
        key(
            "Speed of its hook. Each panel then takes the way up from the ground and the way back on top, as "
            "cycle_min; without the key none.",
            "1.2",
        ),
    ] = None
    set_up_min: Annotated[
        SpreadFrom0,
        key(
            'Setting it up before its first panel of a front; with kept = "strip" before its first front of '
            "a zone, and not again in that zone.",
            '{ low = 120, likely = 240, high = 480, shape = "pert" }',
        ),
    ] = Spread.constant(0.0)
    panels_per_position: Annotated[
        Count | None,
        key(
            "How many panels it sets before it is shifted along the front; without the key it reaches all.",
            "4",
            unit="panels",
            needed="with reposition_min",
        ),
    ] = None
    reposition_min: Annotated[
        SpreadFrom0 | None,
        key(
            "Shifting it along the front.",
            '{ low = 10, likely = 20, high = 40, shape = "pert" }',
            needed="with panels_per_position",
        ),
    ] = None
    sets_again: Annotated[
        Truth,
        key(
            "Whether it also sets the panels that come for lost ones; otherwise a floor crane does, as for a "
            "hook that may be gone by then. Leave-outs are never closed by it: leave_outs.crane says how.",
            "false",
        ),
    ] = True
