"""What feeds devices: switches, supplies, control units, amplifiers, and the circuits between them."""

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
from estimator.spec.quality import TESTS


@record
class NetworkSwitch:
    """A switch that powers devices over balanced pairs."""

    id: str = spec(Name(), "name of the switch")
    room: str = spec(Name(), "room it stands in")
    ports: int = spec(Count(1, 10000, "ports"), "ports in all")
    poe_ports: int | None = spec(Count(0, 10000, "ports"), "ports that power devices", default=None)
    poe_type: int = spec(Count(1, 4), "highest PoE type of its ports", default=2)
    budget_w: float = spec(Quantity("power", 0, 100000), "power for devices", key="poe_budget", default=0.0)
    port_v: float | None = spec(Quantity("voltage", 20, 100), "stated port voltage", key="port_voltage", default=None)
    load_w: float | None = spec(Quantity("power", 0, 100000), "own consumption", key="own_load", default=None)
    poe_efficiency: float | None = spec(
        percent(30, 100), "share of the mains power for its ports that reaches them; else its own_load holds that loss",
        key="poe_efficiency_percent", default=None,
    )  # fmt: skip
    poe_pairs: str | None = spec(
        Choice("A", "B"), "pairs that two-pair power comes over: A on pins 1-2 and 3-6, B on 4-5 and 7-8", default=None
    )
    ups: str | None = spec(Name(), "UPS that carries it", default=None)
    material: tuple[str, ...] = spec(ListOf(Name(), split=True), "items bought for it", default=())
    labor: tuple[str, ...] = spec(ListOf(Name(), split=True), "labor tasks", default=())
    source: Source


@record
class BatterySet:
    """Installed batteries: blocks in series make the voltage, strings in parallel add capacity."""

    capacity_ah: float = spec(Quantity("capacity", 0.1, 5000), "rated capacity of a block", key="capacity")
    blocks: int = spec(Count(1, 40, "blocks"), "blocks in series", default=2)
    strings: int = spec(Count(1, 10, "strings"), "strings in parallel", default=1)
    block_v: float = spec(Quantity("voltage", 2, 48), "nominal voltage of a block", key="block_voltage", default=12.0)
    one_hour_ah: float | None = spec(
        Quantity("capacity", 0.05, 5000),
        "capacity of a block over one hour, from its data sheet; gives the rate factor",
        key="one_hour_capacity",
        default=None,
    )
    date_code: str = spec(Text(20), "month and year of manufacture, YYYY-MM", default="")
    source: Source


@record
class ExtraLoad:
    """A load of a control unit or supply: expanders, keypads, communicators, door holders."""

    name: str = spec(Text(120), "what it is")
    count: int = spec(Count(0, 10000, "pieces"), "how many", key="qty", default=1)
    standby_a: float = spec(Quantity("current", 0, 50), "standby current of one", key="standby_current")
    alarm_a: float = spec(Quantity("current", 0, 50), "alarm current of one, its total", key="alarm_current")
    shed: bool = spec(YesNo(), "switched off on loss of mains", default=False)
    source: Source


@record
class ControlUnit:
    """A fire-alarm, intrusion or access control unit, a booster or a battery-backed DC supply."""

    id: str = spec(Name(), "name of the unit")
    name: str = spec(Text(120), "description", default="")
    system: str = spec(
        Choice("fire_alarm", "voice_evacuation", "household_fire", "intrusion", "access"), "kind of system"
    )
    room: str = spec(Name(), "room it hangs in")
    nominal_v: float = spec(Quantity("voltage", 6, 48), "nominal voltage", key="voltage", default=24.0)
    standby_a: float = spec(Quantity("current", 0, 50), "its own standby current", key="standby_current")
    alarm_a: float = spec(Quantity("current", 0, 50), "its own total alarm current", key="alarm_current")
    supply_a: float | None = spec(
        Quantity("current", 0, 100), "rating of its supply", key="supply_rating", default=None
    )
    circuit_a: float | None = spec(
        Quantity("current", 0, 50), "rating of one circuit", key="circuit_rating", default=None
    )
    zones: int | None = spec(Count(0, 10000, "circuits"), "initiating circuits that it takes", default=None)
    initiating_max_ohm: float | None = spec(
        Quantity("resistance", 0, 1e6),
        "largest loop of an initiating circuit by its listing",
        key="initiating_loop_limit",
        default=None,
    )
    signaling_max_ohm: float | None = spec(
        Quantity("resistance", 0, 1e6),
        "largest loop of a signaling line by its listing",
        key="signaling_loop_limit",
        default=None,
    )
    signaling_devices: int | None = spec(
        Count(0, 100000, "devices"),
        "most devices on a signaling line by its listing",
        key="signaling_device_limit",
        default=None,
    )
    start_v: float | None = spec(
        Quantity("voltage", 5, 48), "circuit voltage at the end of standby", key="start_voltage", default=None
    )
    start_listing: str = spec(Text(120), "listing that allows a higher start voltage", default="")
    sag_v_per_a: float = spec(Number(0, 5, "V per A"), "sag of the output with load", key="sag_per_ampere", default=0.0)
    hours_as: str = spec(
        Text(40), "whose published hours count, such as with_generator or bank_vault; else by its system", default=""
    )
    standby_s: float | None = spec(Quantity("time", 0, 1e6), "standby time", key="standby", default=None)
    alarm_s: float | None = spec(Quantity("time", 0, 1e6), "alarm time", key="alarm", default=None)
    charger_max_ah: float | None = spec(
        Quantity("capacity", 0, 5000), "largest set its charger recharges", key="charger_limit", default=None
    )
    charger_a: float | None = spec(Quantity("current", 0, 50), "charging current", key="charger_current", default=None)
    cabinet_max_ah: float | None = spec(
        Quantity("capacity", 0, 5000), "largest block its cabinet holds", key="cabinet_limit", default=None
    )
    temperature_c: float | None = spec(
        Quantity("temperature", -40, 70), "battery temperature", key="temperature", default=None
    )
    battery: BatterySet | None = spec(Block(BatterySet), "installed battery", default=None)
    stocked_ah: tuple[float, ...] = spec(
        ListOf(Quantity("capacity", 0.1, 5000)), "block sizes to choose from", key="stocked_sizes", default=()
    )
    loads: tuple[ExtraLoad, ...] = spec(ListOf(Block(ExtraLoad)), "loads besides its circuits", default=())
    material: tuple[str, ...] = spec(ListOf(Name(), split=True), "items bought for it", default=())
    labor: tuple[str, ...] = spec(ListOf(Name(), split=True), "labor tasks", default=())
    source: Source


@record
class PowerSupply:
    """A DC supply without a battery of its own."""

    id: str = spec(Name(), "name of the supply")
    name: str = spec(Text(120), "description", default="")
    room: str = spec(Name(), "room it hangs in")
    volts: float = spec(Quantity("voltage", 3, 60), "output voltage", key="voltage")
    rating_a: float = spec(Quantity("current", 0.01, 100), "output rating", key="rating")
    material: tuple[str, ...] = spec(ListOf(Name(), split=True), "items bought for it", default=())
    labor: tuple[str, ...] = spec(ListOf(Name(), split=True), "labor tasks", default=())
    source: Source


@record
class Amplifier:
    """A speaker amplifier."""

    id: str = spec(Name(), "name of the amplifier")
    name: str = spec(Text(120), "description", default="")
    room: str = spec(Name(), "room it stands in")
    power_w: float = spec(Quantity("power", 0.1, 10000), "rated output", key="power")
    line_v: float | None = spec(
        Quantity("voltage", 5, 200), "line voltage, such as 70.7 V", key="line_voltage", default=None
    )
    wiring_class: str | None = spec(
        Choice("audio_class_1", "audio_class_2", "audio_class_3"),
        "class of wiring marked on its constant-voltage output",
        default=None,
    )
    least_ohm: float | None = spec(
        Quantity("resistance", 0.5, 100),
        "least load of a low-impedance output",
        key="least_load",
        default=None,
    )
    load_max: float | None = spec(percent(10, 100), "share of the rating to load", key="load_max_percent", default=None)
    damping: float | None = spec(
        Number(1, 1e6, "no unit"), "damping factor of a low-impedance output", key="damping_factor", default=None
    )
    outputs: int = spec(Count(1, 64, "outputs"), "low-impedance outputs, each with its own circuit", default=1)
    material: tuple[str, ...] = spec(ListOf(Name(), split=True), "items bought for it", default=())
    labor: tuple[str, ...] = spec(ListOf(Name(), split=True), "labor tasks", default=())
    source: Source


@record
class Stop:
    """A device on a circuit, with the cable length from the device before it."""

    device: str = spec(Name(), "device type")
    id: str | None = spec(Name(), "name of this device", default=None)
    distance_m: float = spec(Quantity("length", 0, 5000), "cable from the device before, slack in it", key="distance")
    setting: str | None = spec(Text(40), "setting such as 75cd", default=None)
    count: int = spec(Count(1, 1000, "pieces"), "devices at this place", key="qty", default=1)
    source: Source


@record
class Circuit:
    """Wiring that visits several devices, first from the source."""

    id: str = spec(Name(), "circuit id")
    name: str = spec(Text(120), "description", default="")
    kind: str = spec(
        Choice("notification", "signaling", "initiating", "dc", "speaker", "low_impedance_speaker"), "kind"
    )
    feed: str = spec(Name(), "control unit, supply or amplifier", key="source")
    cable: str = spec(Name(), "cable type")
    circuit_class: str = spec(Choice("A", "B", "X"), "pathway class", key="class", default="B")
    stops: tuple[Stop, ...] = spec(ListOf(Block(Stop), least=1), "devices in order", key="devices")
    return_m: float = spec(Quantity("length", 0, 5000), "cable back to the source (class A)", key="return", default=0.0)
    end_of_line_ohm: float | None = spec(
        Quantity("resistance", 0, 1e7), "end-of-line resistor", key="end_of_line", default=None
    )
    tests: tuple[str, ...] = spec(
        ListOf(Choice(*TESTS), split=True), "tests that it adds to those of its cable", default=()
    )
    end_of_line_tolerance: float | None = spec(
        percent(0, 50), "tolerance of the end-of-line resistor", key="end_of_line_tolerance_percent", default=None
    )
    loop_max_ohm: float | None = spec(
        Quantity("resistance", 0, 1e6), "largest loop resistance its source allows", key="loop_limit", default=None
    )
    device_limit: int | None = spec(Count(0, 100000, "devices"), "most devices its source allows on it", default=None)
    rating_a: float | None = spec(Quantity("current", 0, 50), "rating of the circuit", key="rating", default=None)
    start_v: float | None = spec(Quantity("voltage", 1, 200), "voltage at its start", key="start_voltage", default=None)
    at: str | None = spec(Name(), "node where it leaves the pathway", default=None)
    via: tuple[str, ...] = spec(ListOf(Name(), split=True), "segments it passes, in order", default=())
    pull: str | None = spec(Name(), "pull it belongs to", default=None)
    wiring: str = spec(
        Choice("series", "parallel", "series_parallel"), "how low-impedance speakers are joined", default="parallel"
    )
    strings: int = spec(
        Count(1, 100, "strings"), "strings in parallel of `series_parallel`, each of as many in series", default=2
    )
    loss_max_db: float | None = spec(
        Quantity("level", 0.01, 6), "largest loss of this speaker circuit", key="loss_limit", default=None
    )
    source: Source


@record
class TestPoint:
    """Something tested without a cable of its own."""

    id: str = spec(Name(), "circuit id")
    kind: str = spec(Choice("battery", "bonding", "grounding"), "what is tested")
    control_unit: str | None = spec(Name(), "unit whose battery it is", default=None)
    limit_ohm: float | None = spec(Quantity("resistance", 0, 1000), "largest resistance", key="limit", default=None)
    load_a: float | None = spec(Quantity("current", 0, 500), "test load of a battery", key="load", default=None)
    note: str = spec(Text(), "remark", default="")
    installed: str = spec(Text(20), "date installed, YYYY-MM", default="")
    source: Source
