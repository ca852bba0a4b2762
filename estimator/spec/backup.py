"""Uninterruptible supplies: what each carries, its battery and how long that lasts under a load."""

from __future__ import annotations

from estimator.spec.feeds import BatterySet
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


@record
class UpsLoad:
    """Something besides the job's switches that a UPS carries: a router, a recorder, a modem."""

    name: str = spec(Text(120), "what it is")
    count: int = spec(Count(0, 10000, "pieces"), "how many", key="qty", default=1)
    power_w: float | None = spec(Quantity("power", 0, 1e6), "power of one", key="power", default=None)
    apparent_va: float | None = spec(
        Quantity("apparent power", 0, 1e6), "volt-amperes of one, where no watts are stated", key="apparent_power",
        default=None,
    )  # fmt: skip
    power_factor: float | None = spec(
        Number(0.1, 1, "watts over volt-amperes"), "power factor of one stated in volt-amperes", default=None
    )
    elsewhere: bool = spec(YesNo(), "its heat arises outside the room of the UPS", default=False)
    source: Source


@record
class RuntimePoint:
    """One point of a printed discharge curve or table: a load in one of three ways, and how long it is carried."""

    load_w: float | None = spec(
        Quantity("power", 0.1, 1e6), "load at the output, from the chart of the UPS", key="load", default=None
    )
    block_w: float | None = spec(
        Quantity("power", 0.1, 1e5), "power of one block, from the battery's table", key="block_power", default=None
    )
    string_a: float | None = spec(
        Quantity("current", 0.01, 1e4), "current of one string, from the battery's table", key="string_current",
        default=None,
    )  # fmt: skip
    time_s: float = spec(Quantity("time", 1, 1e7), "how long a new battery carries it", key="time")
    source: Source


@record
class Ups:
    """A UPS that carries active equipment."""

    id: str = spec(Name(), "name of the UPS")
    room: str = spec(Name(), "room it stands in")
    rating_w: float = spec(Quantity("power", 1, 1e6), "output rating in watts", key="rating")
    rating_va: float | None = spec(
        Quantity("apparent power", 1, 1e6), "output rating in volt-amperes", key="apparent_rating", default=None
    )
    power_factor: float | None = spec(
        Number(0.1, 1, "watts over volt-amperes"), "power factor of all it carries", default=None
    )
    efficiency: float | None = spec(
        percent(30, 100), "efficiency under its load", key="efficiency_percent", default=None
    )
    growth: float | None = spec(percent(0, 300), "growth of the load to allow for", key="growth_percent", default=None)
    runtime_s: float | None = spec(Quantity("time", 1, 1e7), "runtime asked for", key="runtime", default=None)
    battery: BatterySet | None = spec(Block(BatterySet), "its battery", default=None)
    battery_kind: str | None = spec(
        Choice("agm", "gel", "flooded"), "kind of lead-acid battery: its usual exponent, the worse end", default=None
    )
    exponent: float | None = spec(
        Number(1, 2, "no unit"), "Peukert exponent of its battery", key="peukert_exponent", default=None
    )
    curve: tuple[RuntimePoint, ...] = spec(
        ListOf(Block(RuntimePoint)), "points of its chart or of its battery's table", key="runtime_curve", default=()
    )
    loads: tuple[UpsLoad, ...] = spec(ListOf(Block(UpsLoad)), "what it carries besides switches", default=())
    material: tuple[str, ...] = spec(ListOf(Name(), split=True), "items bought for it", default=())
    labor: tuple[str, ...] = spec(ListOf(Name(), split=True), "labor tasks", default=())
    source: Source
