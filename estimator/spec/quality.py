"""Acceptance: what is tested on which cable, by which limits, with which instruments, and what was waived."""

from __future__ import annotations

from datetime import date

from estimator.spec.fields import (
    Block,
    Choice,
    Day,
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

MEDIA = ("balanced_pair", "coax", "conductors", "voice", "speaker", "battery", "fiber", "bonding")
"""Media of the field sheets; both alarm and DC circuits are ``conductors``."""

TESTS = (
    "wire_map",
    "length",
    "delay",
    "skew",
    "resistance",
    "poe",
    "switch_port",
    "video_level",
    "open_short",
    "end_of_line",
    "insulation",
    "line_volts",
    "impedance",
    "polarity",
    "loss",
    "return_loss",
    "open_circuit_volts",
    "load_volts",
    "float_volts",
    "stray_volts",
    "bonding",
    "split_pair",
    "insertion_loss",
    "next",
    "psnext",
    "acrf",
    "psacrf",
    "link_speed",
    "port_found",
    "marker",
    "return_leg",
)


@record
class CableAcceptance:
    """What is tested on one cable type."""

    cable: str = spec(Name(), "cable type")
    link: str | None = spec(
        Choice("permanent_link", "channel", "modular_plug_terminated_link"),
        "how a balanced-pair circuit is tested",
        default=None,
    )
    tests: tuple[str, ...] = spec(ListOf(Choice(*TESTS), split=True), "what is tested", default=())
    category: str | None = spec(Choice("5e", "6", "6A"), "category it is judged by", default=None)
    length_max_m: float | None = spec(Quantity("length", 0.1), "a tighter length limit", key="length_max", default=None)
    loop_max_ohm: float | None = spec(
        Quantity("resistance", 0), "a tighter loop-resistance limit", key="loop_max", default=None
    )
    loss_max_db: float | None = spec(Quantity("level", 0), "a tighter loss limit", key="loss_max", default=None)
    low_loss: tuple[str, ...] = spec(
        ListOf(Choice("return_loss", "next", "none"), split=True),
        "parameters recorded and not judged at frequencies where a pair loses little; `none` judges all",
        default=(),
    )
    frequency_hz: float | None = spec(
        Quantity("frequency", 1e6, 3e9), "frequency at which a coaxial cable is tested", key="frequency", default=None
    )
    return_loss_min_db: float | None = spec(
        Quantity("level", 0), "least return loss of a coaxial link", key="return_loss_min", default=None
    )
    video_state: str | None = spec(
        Choice("terminated", "bridging"), "state the video level is measured in", default=None
    )
    source: Source


@record
class Waiver:
    """A circuit that is not tested, or a marginal result that is accepted: by whom and why."""

    circuit: str = spec(Name(), "circuit id")
    reason: str = spec(Text(500), "why")
    name: str = spec(Text(120), "who decided")
    role: str = spec(Choice("owner", "engineer", "authority", "general_contractor", "own_lead"), "in which role")
    day: date = spec(Day(), "when", key="date")
    reference: str = spec(Text(120), "letter, mail or minutes that say so")
    source: Source


@record
class Status:
    """A circuit that could not be tested, and why."""

    circuit: str = spec(Name(), "circuit id")
    state: str = spec(Choice("not_reachable", "in_service", "not_sampled"), "why it is not tested")
    reason: str = spec(Text(500), "more about it", default="")
    source: Source


@record
class Instrument:
    """A test instrument with its stated accuracy and calibration."""

    id: str = spec(Name(), "name of the instrument")
    kind: str = spec(Text(120), "what it is")
    media: tuple[str, ...] = spec(ListOf(Choice(*MEDIA), split=True), "field sheets that it fills", default=())
    serial: str = spec(Text(40), "serial number", default="")
    length_accuracy: float | None = spec(
        percent(0, 50), "length accuracy, share of the reading", key="length_accuracy_percent", default=None
    )
    length_accuracy_m: float = spec(
        Quantity("length"), "length accuracy, fixed part", key="length_accuracy", default=0.0
    )
    resistance_accuracy: float | None = spec(
        percent(0, 50),
        "resistance accuracy, share of the reading",
        key="resistance_accuracy_percent",
        default=None,
    )
    resistance_accuracy_ohm: float = spec(
        Quantity("resistance"), "resistance accuracy, fixed part", key="resistance_accuracy", default=0.0
    )
    volts_accuracy: float | None = spec(
        percent(0, 50), "voltage accuracy, share of the reading", key="voltage_accuracy_percent", default=None
    )
    volts_accuracy_v: float = spec(
        Quantity("voltage"), "voltage accuracy, fixed part", key="voltage_accuracy", default=0.0
    )
    delay_accuracy_s: float | None = spec(Quantity("time"), "delay accuracy", key="delay_accuracy", default=None)
    loss_accuracy_db: float | None = spec(Quantity("level"), "loss accuracy", key="loss_accuracy", default=None)
    sees_split_pairs: bool | None = spec(
        YesNo(), "it measures crosstalk and so sees a split pair; a continuity tester doesn't", default=None
    )
    calibrated: date | None = spec(Day(), "date of calibration", default=None)
    calibration_due: date | None = spec(Day(), "calibration falls due", default=None)
    certificate: str = spec(Text(80), "certificate number", default="")
    source: Source


@record
class Sampling:
    """A stated sample: what share is tested and what a failed one triggers."""

    cable: str = spec(Name(), "cable type")
    share: float = spec(percent(1, 100), "share that is tested", key="percent")
    on_failure: str = spec(Choice("test_all", "double"), "what a failed sample triggers", default="test_all")
    source: Source


@record
class Acceptance:
    """How the job is accepted."""

    cables: tuple[CableAcceptance, ...] = spec(ListOf(Block(CableAcceptance)), "by cable type", default=())
    instruments: tuple[Instrument, ...] = spec(ListOf(Block(Instrument)), "test instruments", default=())
    waivers: tuple[Waiver, ...] = spec(ListOf(Block(Waiver)), "circuits waived", default=())
    accepted: tuple[Waiver, ...] = spec(ListOf(Block(Waiver)), "marginal results accepted", default=())
    statuses: tuple[Status, ...] = spec(
        ListOf(Block(Status)), "circuits not tested, and why", key="not_tested", default=()
    )
    sampling: tuple[Sampling, ...] = spec(ListOf(Block(Sampling)), "stated samples", default=())
    tested_by: str = spec(Text(120), "who tests", default="")
    witnessed_by: str = spec(Text(120), "who witnesses", default="")
    date_order: str = spec(Choice("mdy", "dmy", "ymd"), "order of day, month and year in sheets", default="mdy")
    decimal: str = spec(Choice("point", "comma"), "decimal sign in sheets", default="point")
    battery_end_v: float | None = spec(
        Number(1, 100, "V a block under load"),
        "least block voltage under load",
        key="battery_load_volts",
        default=None,
    )
    battery_open_v: float | None = spec(
        Number(1, 100, "V a block at rest"),
        "least open-circuit block voltage",
        key="battery_open_volts",
        default=None,
    )
    source: Source
