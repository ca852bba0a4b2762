"""Cable types, device types, drops and backbone cables."""

from __future__ import annotations

from decimal import Decimal

from estimator.spec.fields import (
    Block,
    Choice,
    Count,
    ListOf,
    Money,
    Name,
    Number,
    Pairs,
    Quantity,
    Text,
    YesNo,
    percent,
    record,
    spec,
)
from estimator.spec.nodes import Source
from estimator.spec.quality import TESTS
from estimator.spec.ranges import Range

MEDIA = ("balanced_pair", "coax", "two_conductor", "multi_conductor", "voice", "speaker", "fiber")
CIRCUIT_CLASSES = (
    "communications",
    "class_1",
    "class_2",
    "class_3",
    "audio_class_1",
    "audio_class_2",
    "audio_class_3",
    "pl_fire_alarm",
    "npl_fire_alarm",
    "fiber",
    "conductive_fiber",
    "power",
)


@record
class CableType:
    """A cable type of this job; ``type`` names a generic catalog cable whose values fill the gaps."""

    id: str = spec(Name(), "name of the cable type")
    type: str | None = spec(Name(), "generic catalog cable", default=None)
    name: str = spec(Text(120), "description on documents", default="")
    medium: str | None = spec(Choice(*MEDIA), "what kind of cable it is", default=None)
    category: str | None = spec(Choice("3", "5e", "6", "6A"), "category of a balanced-pair cable", default=None)
    pairs: int | None = spec(Count(1, 3000, "pairs"), "pairs", default=None)
    conductors: int | None = spec(Count(1, 400, "conductors"), "conductors", default=None)
    awg: int | None = spec(Count(0, 40, "AWG"), "gauge", key="gauge", default=None)
    stranding: str | None = spec(Choice("solid", "stranded"), "stranding", default=None)
    coated: bool = spec(YesNo(), "tinned copper", default=False)
    material: str = spec(Choice("copper", "cca"), "conductor metal", default="copper")
    jacket: str | None = spec(Text(12), "listing mark of the jacket, such as CMP", default=None)
    circuit_class: str | None = spec(Choice(*CIRCUIT_CLASSES), "class of circuit it carries", key="class", default=None)
    od_m: float | None = spec(
        Quantity("length", 0.0005, 0.2), "outside diameter, the larger of an oval", key="od", default=None
    )
    put_up_m: float | None = spec(Quantity("length", 1, 20000), "box or reel length", key="put_up", default=None)
    nvp: float | None = spec(percent(40, 99), "nominal velocity of propagation", key="nvp_percent", default=None)
    waste: float | None = spec(percent(0, 50), "waste in the order quantity", key="waste_percent", default=None)
    service_loop_m: float | None = spec(Quantity("length"), "service loop", key="service_loop", default=None)
    fiber_class: str | None = spec(
        Choice("OM1", "OM2", "OM3", "OM4", "OM5", "OS1a", "OS2"), "fiber class", default=None
    )
    strands: int | None = spec(Count(1, 3456, "strands"), "fiber strands", default=None)
    reference: str | None = spec(
        Choice("one_cord", "two_cord", "three_cord"), "fiber reference method of its links", default=None
    )
    plant: str | None = spec(
        Choice("indoor", "indoor_outdoor", "outside"),
        "plant that a single-mode cable is made for, where not as its class says",
        default=None,
    )
    modal_mhz_km: float | None = spec(
        Number(50, 20000, "MHz km at 850 nm"),
        "modal bandwidth of an older multimode fiber, where not its class's",
        key="modal_bandwidth",
        default=None,
    )
    coax_type: str | None = spec(Choice("rg59", "rg6", "rg11"), "coaxial cable family", default=None)
    center: str | None = spec(
        Choice("copper", "copper_clad_steel"), "center conductor of a coaxial cable", default=None
    )
    shield_ohm_per_m: float | None = spec(
        Number(0.00001, 10, "ohm per m at 20 C"), "stated resistance of a coaxial cable's shield", default=None
    )
    price: str | None = spec(Name(), "item of the price file", default=None)
    ohm_per_m: float | None = spec(
        Number(0.00001, 10, "ohm per m of one conductor at 20 C"),
        "stated resistance",
        key="ohm_per_m",
        default=None,
    )
    rated_c: float | None = spec(
        Quantity("temperature", 40, 250), "temperature rating of its jacket", key="temperature_rating", default=None
    )
    bundle_a: float | None = spec(
        Quantity("current", 0.01, 5),
        "what the adopted code's table allows each conductor in this job's bundles, before its ambient correction",
        key="bundle_ampacity",
        default=None,
    )
    marked_a: float | None = spec(
        Quantity("current", 0.01, 5), "amperes of its limited-power (LP) mark", key="limited_power", default=None
    )
    weight_kg_per_m: float | None = spec(
        Quantity("weight per length", 0.001, 50), "weight of the cable", key="weight", default=None
    )
    pull_tension_n: float | None = spec(
        Quantity("force", 1, 1e5), "largest pulling tension of its data sheet", key="pull_tension", default=None
    )
    bend_radius_m: float | None = spec(
        Quantity("length", 0.001, 5), "least bend radius of its data sheet while it is pulled", key="bend_radius",
        default=None,
    )  # fmt: skip
    stock_m: tuple[float, ...] = spec(
        ListOf(Quantity("length", 0.3)), "partial boxes on hand", key="on_hand", default=()
    )
    source: Source


@record
class DeviceType:
    """A device type: its cables, what it needs, how it ends and what it costs."""

    id: str = spec(Name(), "name of the device type")
    name: str = spec(Text(120), "description on documents", default="")
    system: str = spec(
        Choice(
            "data",
            "wireless",
            "video",
            "voice",
            "audio",
            "access",
            "intrusion",
            "fire_alarm",
            "coax",
            "backbone",
            "other",
        ),
        "system it belongs to",
        default="other",
    )
    cables: tuple[str, ...] = spec(
        ListOf(Name(), split=True), "cable types, one for each cable", key="cable", default=()
    )
    tests: tuple[str, ...] = spec(
        ListOf(Choice(*TESTS), split=True), "tests that it adds to those of its cable", default=()
    )
    application: str | None = spec(Text(40), "application that must run over its link", default=None)
    ringers: float | None = spec(Number(0, 20, "REN"), "ringer load marked on a telephone or a bell", default=None)
    ringer_ohm: float | None = spec(
        Quantity("resistance", 100, 1e6),
        "least impedance of its ringer at 20 Hz, where no load is marked",
        key="ringer_impedance",
        default=None,
    )
    end: str = spec(Choice("jack", "plug", "terminals", "f_connector", "bnc"), "how its cable ends", default="jack")
    poe_class: int | None = spec(Count(0, 8), "PoE class", default=None)
    draw_w: float | None = spec(Quantity("power", 0, 200), "power it really draws by PoE", key="draw", default=None)
    volts: float | None = spec(Quantity("voltage", 1, 120), "DC supply voltage", key="voltage", default=None)
    least_v: float | None = spec(
        Quantity("voltage", 0.1, 120), "least voltage it works at", key="least_voltage", default=None
    )
    current_a: float | None = spec(
        Quantity("current", 0, 50), "holding or running current", key="current", default=None
    )
    inrush_a: float | None = spec(Quantity("current", 0, 100), "inrush current", key="inrush", default=None)
    power_w: float | None = spec(
        Quantity("power", 0, 2000), "power of a constant-power DC load", key="power", default=None
    )
    standby_a: float | None = spec(
        Quantity("current", 0, 50), "current in standby", key="standby_current", default=None
    )
    alarm_a: float | None = spec(Quantity("current", 0, 50), "current in alarm", key="alarm_current", default=None)
    alarm_is: str = spec(
        Choice("total", "added"),
        "whether the alarm current is the total or adds to standby",
        key="alarm_current_is",
        default="total",
    )
    settings: tuple[tuple[str, float], ...] = spec(
        Pairs(Quantity("current", 0, 50), "setting such as 75cd"), "alarm current by setting", default=()
    )
    fail: str | None = spec(Choice("safe", "secure"), "what a lock does without power", default=None)
    release_on_alarm: bool | None = spec(YesNo(), "released by the fire alarm", default=None)
    tap_w: float | None = spec(Quantity("power", 0, 1000), "tap of a constant-voltage speaker", key="tap", default=None)
    tap_v: float | None = spec(
        Quantity("voltage", 5, 300), "line voltage the tap is marked for, where not its line's", key="tap_voltage",
        default=None,
    )  # fmt: skip
    impedance_ohm: float | None = spec(
        Quantity("resistance", 0.5, 10000), "speaker impedance", key="impedance", default=None
    )
    end_of_line_ohm: float | None = spec(
        Quantity("resistance", 0, 1e7), "end-of-line resistor at the device", key="end_of_line", default=None
    )
    isolator_ohm: float | None = spec(
        Quantity("resistance", 0, 1000),
        "resistance of the isolator in it, both conductors",
        key="isolator",
        default=None,
    )
    video_level_v: float | None = spec(Quantity("voltage", 0.1, 5), "video level sent", key="video_level", default=None)
    service_loop_m: float | None = spec(Quantity("length"), "service loop", key="service_loop", default=None)
    slack_device_m: float | None = spec(Quantity("length"), "slack at the device", key="slack_device", default=None)
    last_leg_m: float | None = spec(Quantity("length"), "pathway to box", key="last_leg", default=None)
    material: tuple[str, ...] = spec(ListOf(Name(), split=True), "items bought for each device", default=())
    box_material: tuple[str, ...] = spec(
        ListOf(Name(), split=True), "items bought once for each outlet box", default=()
    )
    labor: tuple[str, ...] = spec(ListOf(Name(), split=True), "labor tasks for each device", default=())
    section: str | None = spec(Text(20), "section number", default=None)
    source: Source


@record
class Drop:
    """One device with its cable run or runs from a telecom room."""

    id: str = spec(Range(), "circuit id, or a range of them")
    room: str = spec(Name(), "telecom room it starts from")
    device: str | None = spec(Name(), "device type", default=None)
    cable: str | None = spec(Name(), "cable type, where the device has one cable", default=None)
    at: str | None = spec(Name(), "node of the pathway graph where it leaves the pathway", default=None)
    x: float | None = spec(Number(-1e6, 1e6, "plan units"), "place on the plan", default=None)
    y: float | None = spec(Number(-1e6, 1e6, "plan units"), "place on the plan", default=None)
    floor: str | None = spec(Name(), "floor of x and y", default=None)
    via: tuple[str, ...] = spec(ListOf(Name(), split=True), "segments it must pass, in order", default=())
    length_m: float | None = spec(
        Quantity("length", 0, 5000, strict=True), "expected length, typed in", key="length", default=None
    )
    last_leg_m: float | None = spec(Quantity("length", 0, 500), "pathway to box", key="last_leg", default=None)
    room_leg_m: float | None = spec(Quantity("length", 0, 500), "pathway end to panel", key="room_leg", default=None)
    slack_room_m: float | None = spec(Quantity("length", 0, 100), "slack in the room", key="slack_room", default=None)
    slack_device_m: float | None = spec(
        Quantity("length", 0, 100), "slack at the device", key="slack_device", default=None
    )
    service_loop_m: float | None = spec(Quantity("length", 0, 100), "service loop", key="service_loop", default=None)
    loop_at: str | None = spec(Choice("device", "room", "both"), "where the loop lies", default=None)
    port: str | None = spec(Range(), "patch-panel port such as A-07, or a range", default=None)
    switch: str | None = spec(Name(), "switch that powers it", default=None)
    supply: str | None = spec(Name(), "power supply or control unit that feeds it", default=None)
    outlet: str | None = spec(Range(), "box or plate it shares, or a range", default=None)
    pull: str | None = spec(Name(), "pull it belongs to", default=None)
    zone: str | None = spec(Text(40), "zone of the building", default=None)
    setting: str | None = spec(Text(40), "setting of the device", default=None)
    line: str | None = spec(Name(), "telephone line it hangs on, shared with others of that name", default=None)
    line_loop_ohm: float | None = spec(
        Quantity("resistance", 0, 10000),
        "loop resistance of its telephone line up to the room",
        key="line_loop",
        default=None,
    )
    space: str | None = spec(
        Choice("plenum", "riser", "general", "outdoor", "wet"), "space of the last leg", default=None
    )
    wire_map: str = spec(Choice("T568A", "T568B", "USOC"), "pin assignment", default="T568B")
    splices: int = spec(Count(0, 100), "splices on a strand", default=0)
    connections: int = spec(Count(0, 20), "mated pairs on a strand, both ends and all between", default=2)
    reference: str | None = spec(
        Choice("one_cord", "two_cord", "three_cord"), "fiber reference method, where not its cable's", default=None
    )
    note: str = spec(Text(), "remark", default="")
    source: Source


@record
class OpticalEquipment:
    """Transmitter and receiver at the ends of a fiber, by their data sheet."""

    name: str = spec(Text(80), "what they are", default="")
    transmit_dbm: float = spec(Number(-60, 40, "dBm"), "least power that is sent", key="transmit_dbm")
    receive_dbm: float = spec(Number(-80, 20, "dBm"), "least power that is received well", key="receive_dbm")
    margin_db: float = spec(Quantity("level", 0, 30), "margin kept for operation", key="margin", default=0.0)
    penalty_db: float = spec(Quantity("level", 0, 30), "penalties of the receiver", key="penalty", default=0.0)
    repair_splices: int = spec(Count(0, 20, "splices"), "splices of later repairs to keep in hand", default=0)
    wavelength_nm: int | None = spec(Count(600, 1700, "nm"), "wavelength, where not every one tested", default=None)
    source: Source


@record
class Backbone:
    """A riser or backbone cable between two rooms."""

    id: str = spec(Name(), "name of the cable")
    start: str = spec(Name(), "room at one end", key="from")
    end: str = spec(Name(), "room at the other end", key="to")
    cable: str = spec(Name(), "cable type")
    length_m: float | None = spec(
        Quantity("length", 0, 100000, strict=True), "length, typed in", key="length", default=None
    )
    via: tuple[str, ...] = spec(ListOf(Name(), split=True), "segments it must pass, in order", default=())
    splices: int = spec(Count(0, 100), "splices on a strand", default=0)
    connections: int = spec(Count(0, 20), "mated pairs on a strand, both ends and all between", default=2)
    reference: str | None = spec(
        Choice("one_cord", "two_cord", "three_cord"), "fiber reference method, where not its cable's", default=None
    )
    application: str | None = spec(Text(40), "application that must run over it", default=None)
    equipment: OpticalEquipment | None = spec(
        Block(OpticalEquipment), "transmitter and receiver, where no standard application tells", default=None
    )
    pull: str | None = spec(Name(), "pull it belongs to", default=None)
    material: tuple[str, ...] = spec(ListOf(Name(), split=True), "items bought for it", default=())
    labor: tuple[str, ...] = spec(ListOf(Name(), split=True), "labor tasks", default=())
    note: str = spec(Text(), "remark", default="")
    source: Source


@record
class UnitAmount:
    """An item with a quantity."""

    item: str = spec(Name(), "item of the price file")
    quantity: Decimal = spec(Money(-1000000), "how many", key="qty")
    source: Source
