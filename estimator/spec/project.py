"""The job itself: who, where, which codes were adopted, which house rules replace the defaults."""

from __future__ import annotations

from datetime import date

from estimator.spec.fields import (
    Choice,
    Count,
    Day,
    ListOf,
    Name,
    Number,
    Quantity,
    Text,
    percent,
    record,
    spec,
)
from estimator.spec.nodes import Source

CURRENCIES = ("USD", "CAD", "EUR", "GBP")
"""Currencies that prices can be in; nothing is converted."""


@record
class Header:
    """The project's name, number, people and dates."""

    name: str = spec(Text(120), "name of the project")
    number: str = spec(Text(40), "project number", default="")
    revision: str = spec(Text(40), "revision of this file", default="")
    shown_date: date | None = spec(Day(), "date that documents show", key="date", default=None)
    client: str = spec(Text(120), "who the work is for", default="")
    site: str = spec(Text(200), "name of the site", default="")
    address: str = spec(Text(300), "address of the site", default="")
    company: str = spec(Text(120), "the contractor", default="")
    company_address: str = spec(Text(300), "address of the contractor", default="")
    license: str = spec(Text(200), "contractor license, as the state prints it", default="")
    insurance: str = spec(Text(200), "insurance carried", default="")
    prepared_by: str = spec(Text(120), "who prepared the documents", default="")
    reviewed_by: str = spec(Text(120), "who reviews the calculations", default="")
    bid_date: date | None = spec(Day(), "date of the bid", default=None)
    valid_days: int = spec(Count(1, 3650, "days"), "days that the price holds", default=30)
    currency: str = spec(Choice(*CURRENCIES), "currency of the prices", default="USD")
    lengths_in: str = spec(Choice("ft", "m"), "unit that documents show lengths in", default="ft")
    paper: str = spec(Choice("letter", "A4"), "paper of the documents", default="letter")
    permit: str = spec(Text(120), "permit number", default="")
    authority: str = spec(Text(200), "authority having jurisdiction", default="")
    notes: tuple[str, ...] = spec(ListOf(Text()), "remarks printed with the basis", default=())
    source: Source


@record
class Codes:
    """Editions that the jurisdiction has adopted."""

    electrical: str = spec(Text(20), "edition of NFPA 70", default="2023")
    fire_alarm: str = spec(Text(20), "edition of NFPA 72", default="2019")
    cabling: str = spec(Choice("568-C.2", "568.2-D"), "edition of the copper cabling standard", default="568.2-D")
    fiber: str = spec(Choice("568-C.3", "568.3-D"), "edition of the fiber cabling standard", default="568.3-D")
    pathways: str = spec(Text(20), "edition of TIA-569", default="569-E")
    administration: str = spec(Text(20), "edition of ANSI/TIA-606", default="606-C")
    sections: str = spec(
        Choice("2004", "2016"), "edition of the section numbers: 2004 to 2014, or 2016 on", default="2016"
    )
    amendments: str = spec(Text(), "local amendments, in words", default="")
    source: Source


@record
class HouseRules:
    """House rules that replace published defaults; what is left out keeps its default."""

    room_leg_m: float | None = spec(Quantity("length"), "pathway end to rack to panel", key="room_leg", default=None)
    last_leg_m: float | None = spec(
        Quantity("length"), "pathway to box, where a drop types none", key="last_leg", default=None
    )
    drop_height_m: float | None = spec(
        Quantity("length"), "vertical leg of a drop placed by x and y", key="drop_height", default=None
    )
    slack_room_m: float | None = spec(Quantity("length"), "slack at the room end", key="slack_room", default=None)
    slack_device_m: float | None = spec(Quantity("length"), "slack at the device end", key="slack_device", default=None)
    slack_fiber_m: float | None = spec(
        Quantity("length"), "slack at each end of a fiber cable", key="slack_fiber", default=None
    )
    service_loop_m: float | None = spec(
        Quantity("length"), "service loop, once a drop", key="service_loop", default=None
    )
    loop_at: str | None = spec(Choice("device", "room", "both"), "where the service loop lies", default=None)
    waste: float | None = spec(percent(0, 50), "waste in the order quantity", key="waste_percent", default=None)
    cut_to_m: float | None = spec(
        Quantity("length", 0.001), "cut lengths are rounded up to this", key="cut_to", default=None
    )
    pull_at_once: int | None = spec(
        Count(1, 96, "cables"), "cables that a crew pulls together, each from a box of its own", default=None
    )
    order_by: str | None = spec(
        Choice("larger", "cut_plan", "footage"), "what decides the order quantity", default=None
    )
    design_limit_m: float | None = spec(
        Quantity("length", 1), "longest expected length of a copper link", key="design_limit", default=None
    )
    max_fill_conduit: float | None = spec(
        percent(1, 100), "conduit fill of three or more cables", key="max_fill_conduit_percent", default=None
    )
    max_fill_tray: float | None = spec(
        percent(1, 100), "design fill of a tray", key="max_fill_tray_percent", default=None
    )
    bend_derating: float | None = spec(
        percent(0, 50), "fill taken off for each 90 degree bend", key="bend_derating_percent", default=None
    )
    jam_allowance: float | None = spec(
        Number(1, 1.2, "factor"), "factor on a conduit's inside diameter in the jam ratio", default=None
    )
    hook_spacing_m: float | None = spec(Quantity("length", 0.1), "j-hook spacing", key="hook_spacing", default=None)
    hook_cables: int | None = spec(Count(1, 500, "cables"), "most cables on one j-hook", default=None)
    plan_distance: str | None = spec(Choice("axes", "straight"), "how x/y distances are taken", default=None)
    average_allowance: float | None = spec(
        percent(0, 100),
        "added to the mean of longest and shortest route, for the way around things",
        key="average_allowance_percent",
        default=None,
    )
    straight_factor: float | None = spec(Number(1, 3, "factor"), "factor on straight plan distances", default=None)
    length_tolerance: float | None = spec(
        percent(0, 100),
        "share by which a measured length may differ",
        key="length_tolerance_percent",
        default=None,
    )
    length_tolerance_m: float | None = spec(
        Quantity("length"),
        "length by which a measured length may differ",
        key="length_tolerance",
        default=None,
    )
    loop_tolerance: float | None = spec(
        percent(0, 100),
        "share by which a loop resistance may differ",
        key="loop_tolerance_percent",
        default=None,
    )
    poe_cords_m: float | None = spec(Quantity("length"), "cords in a powered channel", key="poe_cords", default=None)
    cord_gauge: str | None = spec(Choice("24", "26"), "AWG of the cords in a channel", default=None)
    poe_budget_by: str | None = spec(Choice("class", "draw"), "what a switch budget adds up", default=None)
    poe_reserve: float | None = spec(
        percent(0, 90), "share of a switch budget kept free", key="poe_reserve_percent", default=None
    )
    ambient_c: float | None = spec(
        Quantity("temperature", -40, 90), "temperature around cables", key="ambient", default=None
    )
    bundle_rise_c: float | None = spec(
        Number(0, 60, "kelvin"),
        "rise of a powered bundle's middle over its surroundings, from tests or tables",
        key="bundle_rise_k",
        default=None,
    )
    conductor_basis: str | None = spec(
        Choice("by_use", "nec_table_8", "diameter"), "what a conductor's resistance is taken from", default=None
    )
    amplifier_load_max: float | None = spec(
        percent(10, 100),
        "share of an amplifier's rating to load",
        key="amplifier_load_max_percent",
        default=None,
    )
    battery_ageing: float | None = spec(
        Number(1, 2, "factor"), "aging factor of batteries outside life safety", default=None
    )
    battery_factors: str | None = spec(
        Choice("margin", "larger", "both"),
        "factors of a life-safety battery: the edition's margin, the larger of margin and aging, or both",
        default=None,
    )
    battery_margin: float | None = spec(
        Number(1, 2, "factor"), "margin of life-safety batteries; the edition's is the least", default=None
    )
    battery_rate: str | None = spec(
        Choice("typed", "always"),
        "rate (Peukert) factor: where a battery types its one-hour capacity, or always",
        default=None,
    )
    dc_drop: float | None = spec(percent(1, 50), "largest drop on a DC branch", key="dc_drop_percent", default=None)
    nac_decides: str | None = spec(
        Choice("point_to_point", "end_of_line", "percent"),
        "which result decides a notification appliance circuit",
        default=None,
    )
    nac_drop: float | None = spec(
        percent(1, 50),
        "largest drop where percent decides a notification circuit",
        key="nac_drop_percent",
        default=None,
    )
    speaker_loss_db: float | None = spec(
        Quantity("level", 0.01, 6), "largest loss of a speaker line", key="speaker_loss", default=None
    )
    off_expectation: str | None = spec(
        Choice("finding", "fail"), "what a good reading is that doesn't fit its circuit", default=None
    )
    marginal: str | None = spec(Choice("accuracy", "none"), "what makes a marginal band", default=None)
    retest: str | None = spec(Choice("whole", "by_test"), "what a later round replaces", default=None)
    velocity_correction: str | None = spec(
        Choice("yes", "no"), "judge lengths corrected for a wrong velocity", default=None
    )
    source: Source


@record
class Plan:
    """Scale of plan coordinates and heights above them."""

    scale_m: float | None = spec(Quantity("length", 1e-6), "length of one plan unit", key="unit", default=None)
    ceiling_m: float | None = spec(Quantity("length"), "pathway height above floor", key="ceiling", default=None)
    outlet_m: float | None = spec(Quantity("length"), "outlet height above floor", key="outlet_height", default=None)
    floors: tuple[str, ...] = spec(ListOf(Name()), "floors, lowest first", default=())
    source: Source
