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
    patch_panels: tuple[PatchPanel, ...] = spec(ListOf(Block(PatchPanel)), "its patch panels", default=())
    racks: tuple[str, ...] = spec(ListOf(Text(80)), "its racks and cabinets", default=())
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
class Segment:
    """A segment of the pathway graph."""

    id: str = spec(Name(), "name of the segment")
    start: str = spec(Name(), "node or room at one end", key="from")
    end: str = spec(Name(), "node or room at the other end", key="to")
    length_m: float = spec(Quantity("length", 0, 5000, strict=True), "flat length from end to end", key="length")
    rise_m: float = spec(Quantity("length", 0, 500), "further vertical leg", key="rise", default=0.0)
    kind: str = spec(
        Choice("conduit", "tray", "surface_raceway", "j_hooks", "sleeve", "open"), "what carries the cables"
    )
    material: str = spec(Choice(*RACEWAYS), "material of a conduit or sleeve", default="emt")
    trade_size: str | None = spec(Text(8), "trade size of a conduit or sleeve, such as 1-1/4", default=None)
    width_m: float | None = spec(
        Quantity("length", 0.001, 5), "inside width of a tray or raceway", key="width", default=None
    )
    depth_m: float | None = spec(
        Quantity("length", 0.001, 5), "inside depth of a tray or raceway", key="depth", default=None
    )
    spacing_m: float | None = spec(Quantity("length", 0.1, 10), "j-hook spacing", key="spacing", default=None)
    hook_cables: int | None = spec(Count(1, 500, "cables"), "most cables on one j-hook", default=None)
    space: str = spec(Choice(*SPACES), "space it runs through", default="general")
    bends_deg: float = spec(Quantity("angle", 0, 3600), "bends in all", key="bends", default=0.0)
    nipple: bool = spec(YesNo(), "a conduit of 24 in or less between enclosures", default=False)
    firestop: Firestop | None = spec(Block(Firestop), "firestop system of a sleeve", default=None)
    laid: tuple[Laid, ...] = spec(ListOf(Block(Laid)), "cables already in it", key="existing", default=())
    max_fill: float | None = spec(
        percent(1, 100), "a lower fill for this segment", key="max_fill_percent", default=None
    )
    items: tuple[str, ...] = spec(
        ListOf(Name(), split=True), "items and tasks it needs, by its length where one is in ft or m", default=()
    )
    note: str = spec(Text(), "remark", default="")
    source: Source
