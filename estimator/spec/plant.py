"""The building as cabling sees it: rooms with their panels, the pathway graph, what already lies in it."""

from __future__ import annotations

from estimator.spec.fields import (
    Block,
    Choice,
    Count,
    ListOf,
    Name,
    Number,
    Quantity,
    Text,
    YesNo,
    percent,
    record,
    spec,
)
from estimator.spec.nodes import Source
from estimator.spec.racks import Rack, RackOrText

SPACES = ("plenum", "riser", "general", "outdoor", "wet")
RACEWAYS = (
    "emt",
    "ent",
    "fmc",
    "imc",
    "rmc",
    "pvc40",
    "pvc80",
    "lfnc_a",
    "lfnc_b",
    "lfmc",
    "pvc_a",
    "pvc_eb",
)


@record
class PatchPanel:
    """A patch panel: its letter and how many ports it has."""

    id: str = spec(Name(), "panel letter or name")
    ports: int = spec(Count(1, 1000, "ports"), "number of ports")
    ports_in_row: int = spec(Count(1, 96, "ports"), "ports side by side on its face", default=24)
    kind: str = spec(Choice("copper", "fiber", "coax", "voice"), "what it terminates", default="copper")
    category: str = spec(Choice("5e", "6", "6A", "none"), "category of its ports", default="none")
    name: str = spec(Text(80), "description", default="")
    material: tuple[str, ...] = spec(ListOf(Name(), split=True), "items bought for it", default=())
    labor: tuple[str, ...] = spec(ListOf(Name(), split=True), "labor tasks", default=())
    source: Source


@record
class Room:
    """A telecom room or closet; it is also a node of the pathway graph."""

    id: str = spec(Name(), "floor and space, such as 1A")
    name: str = spec(Text(80), "name of the room", default="")
    floor: str = spec(Name(), "floor", default="")
    x: float | None = spec(Number(-1e6, 1e6, "plan units"), "place on the plan", default=None)
    y: float | None = spec(Number(-1e6, 1e6, "plan units"), "place on the plan", default=None)
    room_leg_m: float | None = spec(Quantity("length"), "pathway end to rack to panel", key="room_leg", default=None)
    slack_room_m: float | None = spec(Quantity("length"), "slack in this room", key="slack_room", default=None)
    longest_run_m: float | None = spec(
        Quantity("length", 0, 5000, strict=True),
        "longest route of its drops that have no place yet",
        key="longest_run",
        default=None,
    )
    shortest_run_m: float | None = spec(
        Quantity("length", 0, 5000),
        "shortest route of its drops that have no place yet",
        key="shortest_run",
        default=None,
    )
    patch_panels: tuple[PatchPanel, ...] = spec(ListOf(Block(PatchPanel)), "its patch panels", default=())
    racks: tuple[Rack, ...] = spec(ListOf(RackOrText()), "its racks and cabinets", default=())
    source: Source


@record
class PlanNode:
    """A point of the pathway graph."""

    id: str = spec(Name(), "name of the point")
    floor: str = spec(Name(), "floor", default="")
    x: float | None = spec(Number(-1e6, 1e6, "plan units"), "place on the plan", default=None)
    y: float | None = spec(Number(-1e6, 1e6, "plan units"), "place on the plan", default=None)
    name: str = spec(Text(80), "description", default="")
    source: Source


@record
class Laid:
    """Cables that already lie in a segment."""

    cable: str = spec(Name(), "cable type")
    count: int = spec(Count(1, 10000, "cables"), "how many", key="qty")
    source: Source


@record
class Firestop:
    """The listed firestop system of a sleeve, as its listing prints it."""

    system: str = spec(Text(80), "listing number as the project names it")
    max_fill: float = spec(percent(1, 100), "largest fill the listing allows", key="max_fill_percent")
    source: Source


@record
class BendAt:
    """A bend of a conduit, where it lies."""

    at_m: float = spec(Quantity("length", 0, 5000), "distance from the `from` end along the conduit", key="at")
    angle_deg: float = spec(Quantity("angle", 0, 360, strict=True), "angle of the bend", key="angle")
    source: Source


@record
class NearPower:
    """Power wiring, or what it feeds, that runs beside a segment."""

    distance_m: float = spec(Quantity("length", 0, 100), "distance between the two", key="distance")
    what: str = spec(
        Choice("wiring", "wiring_in_metal", "motors", "fluorescent"),
        "what lies there: power wiring, the same in a grounded metal conduit, motors or transformers, lamps",
        default="wiring",
    )
    load_va: float | None = spec(
        Quantity("apparent power", 1, 1e7), "load of that wiring, for `rule: tia_1990`", key="load", default=None
    )
    rule: str = spec(
        Choice("code", "tia_1990"),
        "the code's distance, or the withdrawn table of 1990 where an owner asks",
        default="code",
    )
    source: Source


@record
class Segment:
    """A segment of the pathway graph."""

    id: str = spec(Name(), "name of the segment")
    start: str = spec(Name(), "node or room at one end", key="from")
    end: str = spec(Name(), "node or room at the other end", key="to")
    length_m: float = spec(Quantity("length", 0, 5000, strict=True), "flat length from end to end", key="length")
    rise_m: float = spec(Quantity("length", 0, 500), "further vertical leg", key="rise", default=0.0)
    kind: str = spec(
        Choice("conduit", "tray", "surface_raceway", "cabinet", "j_hooks", "sleeve", "open"), "what carries the cables"
    )
    material: str = spec(Choice(*RACEWAYS), "material of a conduit or sleeve", default="emt")
    trade_size: str | None = spec(Text(8), "trade size of a conduit or sleeve, such as 1-1/4", default=None)
    width_m: float | None = spec(
        Quantity("length", 0.001, 5), "inside width of a tray, raceway or cabinet", key="width", default=None
    )
    depth_m: float | None = spec(
        Quantity("length", 0.001, 5), "inside depth of a tray, raceway or cabinet", key="depth", default=None
    )
    spacing_m: float | None = spec(Quantity("length", 0.1, 10), "j-hook spacing", key="spacing", default=None)
    hook_cables: int | None = spec(Count(1, 500, "cables"), "most cables on one j-hook", default=None)
    hook_load_kg: float | None = spec(
        Quantity("mass", 0.1, 1000), "weight that one j-hook is rated for", key="hook_load", default=None
    )
    load_kg_per_m: float | None = spec(
        Quantity("weight per length", 0.1, 2000), "weight that a tray is rated for", key="load", default=None
    )
    bottom: str | None = spec(
        Choice("ladder", "solid"), "bottom of a tray: ladder or ventilated, or solid", default=None
    )
    space: str = spec(Choice(*SPACES), "space it runs through", default="general")
    bends_deg: float = spec(Quantity("angle", 0, 3600), "bends in all", key="bends", default=0.0)
    bends_at: tuple[BendAt, ...] = spec(
        ListOf(Block(BendAt)), "the same bends one by one, so that pulls from both ends are told apart", default=()
    )
    bend_radius_m: float | None = spec(
        Quantity("length", 0.01, 10), "radius of its bends, to the centerline", key="bend_radius", default=None
    )
    friction: float | None = spec(
        Number(0.05, 2, "factor"), "coefficient of friction of a pull through it", default=None
    )
    nipple: bool = spec(YesNo(), "a conduit of 24 in or less between enclosures", default=False)
    firestop: Firestop | None = spec(Block(Firestop), "firestop system of a sleeve", default=None)
    laid: tuple[Laid, ...] = spec(ListOf(Block(Laid)), "cables already in it", key="existing", default=())
    max_fill: float | None = spec(
        percent(1, 100), "a lower fill for this segment", key="max_fill_percent", default=None
    )
    listed_fill: float | None = spec(
        percent(1, 100), "fill that its own listing allows", key="listed_fill_percent", default=None
    )
    near_power: tuple[NearPower, ...] = spec(ListOf(Block(NearPower)), "power wiring beside it", default=())
    items: tuple[str, ...] = spec(
        ListOf(Name(), split=True), "items and tasks it needs, by its length where one is in ft or m", default=()
    )
    note: str = spec(Text(), "remark", default="")
    source: Source

    @property
    def turns_deg(self) -> float:
        """Bends in all [degree], added up where they are typed one by one."""
        return sum(bend.angle_deg for bend in self.bends_at) if self.bends_at else self.bends_deg
