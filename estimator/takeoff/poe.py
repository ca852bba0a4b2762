"""Power over balanced pairs: what reaches each device, and what each switch must give.

A device with several cables takes its power over the first of them. Its cords count with the same
conductor as its cable.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.heat import MAINS, SWITCH_LOSS
from estimator.calc.poe import BUDGET, PowerClass, class_for, feed, held_v, longest_run_m
from estimator.reference.lookup import Row, table
from estimator.spec.cabling import DeviceType
from estimator.spec.feeds import NetworkSwitch
from estimator.spec.model import Project, Run
from estimator.takeoff.conductors import Conductor, Conductors
from estimator.takeoff.footage import Footage, Length
from estimator.units.rounding import over, under

SUPPLY_LOOP: Final = Expression("2 * (length_m + cords_m) * ohm_per_m / powered_pairs")
"""Loop of the powered pairs together: two or four conductors carry the current each way [ohm]."""

COMPUTED_DRAW: Final = Expression("sum(source_w)")
"""What a switch really gives, cable losses in it [W]."""

USABLE: Final = Expression("budget_w * (1 - reserve)")
"""Power of a switch that the reserve leaves for devices [W]."""

PORTS_USED: Final = Expression("powered + unpowered")
"""Ports that cables of the job end at."""

PORTS_FREE: Final = Expression("ports - used")
"""Ports left over."""

NEEDED: Final[Mapping[str, Expression]] = {"class": Expression("allocated_w"), "draw": Expression("computed_w")}
"""What a switch must give, by the house rule `poe_budget_by` [W]."""

GIVEN: Final = Expression("class_w")
"""Power that a port gives a device that can't be fed: what its class reserves [W]."""

LOST: Final = Expression("sum(cable_loss_w)")
"""Power lost in the powered cables of a switch [W]."""

HEAT: Final = Expression("(loss_w + cable_loss_w) * btu_per_h_per_w")
"""Heat of a switch and its powered cables; what devices draw leaves the room [BTU/h]."""

NOT_FED: Final = Expression("device_v < 1")
UNDER_LEAST: Final = Expression("device_v < least_v")
OVER_CLASS: Final = Expression("source_w > allocated_w")
BEYOND_BUDGET: Final = Expression("needed_w > budget_w")
BEYOND_USABLE: Final = Expression("needed_w > usable_w")
"""What a device fails by, no volts standing for none that it could have, and what a switch's budget does."""

WORKS, TOO_LOW, TOO_MUCH, CANNOT = "works", "volts too low", "more than its class", "cannot be fed"


@dataclass(frozen=True, kw_only=True, slots=True)
class Powered:
    """One powered device at the end of its cable; volts and current are None where it cannot be fed."""

    length: Length
    device: DeviceType
    switch: NetworkSwitch | None
    power_class: PowerClass
    class_row: Row
    conductor: Conductor
    draw_w: float
    cords_m: float
    loop_ohm: float
    port_v: float
    least_v: float
    held_v: float  # under them it no longer works as promised
    longest_m: float | None  # longest expected length that works, zero where none does; None for no load
    current_a: float | None
    device_v: float | None
    source_w: float
    cable_loss_w: float
    word: str

    @property
    def id(self) -> str:
        """Return the id of its circuit."""
        return self.length.id

    @property
    def allocated_w(self) -> float:
        """Return what its class reserves at the source [W]."""
        return self.power_class.source_w


@dataclass(frozen=True, kw_only=True, slots=True)
class SwitchPower:
    """One switch: its ports and its power."""

    switch: NetworkSwitch
    devices: tuple[Powered, ...]
    unpowered: int
    classes: tuple[int, ...]
    class_ports: tuple[float, ...]
    class_w: tuple[float, ...]
    allocated_w: float
    computed_w: float
    usable_w: float
    needed_w: float
    cable_loss_w: float
    mains_w: float
    loss_w: float | None
    heat_btu_per_h: float | None

    @property
    def id(self) -> str:
        """Return the switch's name."""
        return self.switch.id

    @property
    def ports_used(self) -> int:
        """Return the ports that cables of the job end at."""
        return len(self.devices) + self.unpowered

    @property
    def poe_ports(self) -> int:
        """Return the ports that can power a device."""
        return self.switch.ports if self.switch.poe_ports is None else self.switch.poe_ports


@dataclass(frozen=True, kw_only=True, slots=True)
class PoE:
    """All devices of the job that are powered over their cable, and the switches."""

    devices: tuple[Powered, ...]
    switches: tuple[SwitchPower, ...]


def work_out_poe(project: Project, footage: Footage, conductors: Conductors | None = None) -> PoE:
    """Return every powered device with its volts and watts, and every switch with its budget."""
    known = _Known(project, conductors or Conductors(project))
    devices = []
    unpowered: dict[str, int] = {}
    by_switch: dict[str, list[Powered]] = {name: [] for name in project.switches}
    for run in project.runs:
        length = footage.by_id.get(run.id)
        powered = known.device(run, length) if length is not None and run.first and takes_power(run) else None
        if powered is not None:
            devices.append(powered)
        if run.drop.switch is not None and powered is None:
            unpowered[run.drop.switch] = unpowered.get(run.drop.switch, 0) + 1
        elif run.drop.switch is not None and powered is not None:
            by_switch[run.drop.switch].append(powered)
    switches = [
        _switch(switch, tuple(by_switch[name]), unpowered.get(name, 0), project)
        for name, switch in project.switches.items()
    ]
    return PoE(devices=tuple(devices), switches=tuple(switches))


def takes_power(run: Run) -> bool:
    """Return whether a run's device is powered over balanced pairs."""
    device = run.device
    if device is None or run.cable.medium != "balanced_pair":
        return False
    return device.poe_class is not None or device.draw_w is not None


def power_classes() -> Mapping[int, tuple[PowerClass, Row]]:
    """Return the classes of the standard by number, each with its row."""
    return {
        int(row.number("class")): (
            PowerClass(
                number=int(row.number("class")),
                source_w=row.number("source_w"),
                device_w=row.number("device_w"),
                powered_pairs=int(row.number("powered_pairs")),
                source_min_v=row.number("source_min_v"),
                device_min_v=row.number("device_min_v"),
            ),
            row,
        )
        for row in table("poe_classes")
    }


def type_row(poe_type: int) -> Row:
    """Return the standard's row of a type of port."""
    return table("poe_types").find(type=poe_type)


class _Known:
    """What many devices share, looked up once: classes by device type, conductors, port volts."""

    def __init__(self, project: Project, conductors: Conductors) -> None:
        self.project, self.conductors = project, conductors
        self.classes = power_classes()
        self._by_device: dict[str, tuple[PowerClass, Row, float, float]] = {}
        self._port_v: dict[tuple[str | None, int], float] = {}
        self._reach: dict[tuple[str, float, str], tuple[float, float | None]] = {}
        self.cords_m = project.rules.poe_cords_m

    def kind(self, device: DeviceType) -> tuple[PowerClass, Row, float, float]:
        """Return a device type's class, its row, its draw [W] and its least volts [V]."""
        if device.id not in self._by_device:
            chosen = class_of(device, self.classes)
            draw = chosen[0].device_w if device.draw_w is None else device.draw_w
            own_v = least_by_poe(device)
            self._by_device[device.id] = (*chosen, draw, chosen[0].device_min_v if own_v is None else own_v)
        return self._by_device[device.id]

    def port_v(self, switch: NetworkSwitch | None, power_class: PowerClass) -> float:
        """Return the volts at a port: stated, else the least of its type, else of the class."""
        key = (switch.id if switch else None, power_class.number)
        if key not in self._port_v:
            self._port_v[key] = port_volts(switch, power_class)
        return self._port_v[key]

    def reach(self, device: DeviceType, port_v: float, conductor: Conductor) -> tuple[float, float | None]:
        """Return the volts that a device type holds at such a port [V], and the longest run that leaves them [m]."""
        key = (device.id, port_v, conductor.id)
        if key not in self._reach:
            power_class, _, draw_w, least_v = self.kind(device)
            held = held_v(source_v=port_v, device_w=draw_w, device_min_v=least_v, source_w=power_class.source_w)
            longest = None
            if draw_w > 0.0:
                longest = longest_run_m(
                    source_v=port_v,
                    held_v=held,
                    device_w=draw_w,
                    powered_pairs=power_class.powered_pairs,
                    ohm_per_m=conductor.ohm_per_m,
                    cords_m=self.cords_m,
                )
            self._reach[key] = held, longest
        return self._reach[key]

    def device(self, run: Run, length: Length) -> Powered | None:
        """Return a run's device at the end of its cable, or None without a known conductor."""
        device = run.device
        conductor = self.conductors.of(run.cable)
        if device is None or conductor is None:
            return None
        power_class, row, draw_w, least_v = self.kind(device)
        switch = self.project.switches[run.drop.switch] if run.drop.switch else None
        port_v = self.port_v(switch, power_class)
        loop_ohm = SUPPLY_LOOP(
            length_m=length.expected_m,
            cords_m=self.cords_m,
            ohm_per_m=conductor.ohm_per_m,
            powered_pairs=power_class.powered_pairs,
        )
        held, longest_m = self.reach(device, port_v, conductor)
        fed = feed(source_v=port_v, loop_ohm=loop_ohm, device_w=draw_w)
        word = CANNOT
        if fed is not None:
            word = TOO_LOW if under(fed.device_v, least_v) else WORKS
            word = TOO_MUCH if word == WORKS and over(fed.source_w, power_class.source_w) else word
        return Powered(
            length=length,
            device=device,
            switch=switch,
            power_class=power_class,
            class_row=row,
            conductor=conductor,
            draw_w=draw_w,
            cords_m=self.cords_m,
            loop_ohm=loop_ohm,
            port_v=port_v,
            least_v=least_v,
            held_v=held,
            longest_m=longest_m,
            current_a=fed.current_a if fed else None,
            device_v=fed.device_v if fed else None,
            source_w=fed.source_w if fed else power_class.source_w,
            cable_loss_w=fed.cable_loss_w if fed else 0.0,
            word=word,
        )


def class_of(device: DeviceType, classes: Mapping[int, tuple[PowerClass, Row]]) -> tuple[PowerClass, Row]:
    """Return a device's class: as typed, else the first that covers its draw, else the highest."""
    if device.poe_class is not None:
        return classes[device.poe_class]
    assert device.draw_w is not None
    found = class_for(device_w=device.draw_w, classes=[one for one, _ in classes.values()])
    return classes[max(classes) if found is None else found.number]


def least_by_poe(device: DeviceType) -> float | None:
    """Return a device's own least volts by PoE; beside a DC supply voltage they belong to that."""
    return device.least_v if device.volts is None else None


def port_volts(switch: NetworkSwitch | None, power_class: PowerClass) -> float:
    """Return the volts at a port [V]: stated, else the least of the port's type, else of the class."""
    if switch is None:
        return power_class.source_min_v
    return type_row(switch.poe_type).number("source_min_v") if switch.port_v is None else switch.port_v


def _switch(switch: NetworkSwitch, devices: tuple[Powered, ...], unpowered: int, project: Project) -> SwitchPower:
    rules = project.rules
    counted: dict[int, int] = {}
    watts: dict[int, float] = {}
    for one in devices:
        number = one.power_class.number
        counted[number] = counted.get(number, 0) + 1
        watts[number] = one.allocated_w
    classes = tuple(sorted(counted))
    class_ports = tuple(float(counted[number]) for number in classes)
    class_w = tuple(watts[number] for number in classes)
    allocated_w = BUDGET(ports=class_ports, watts=class_w)
    computed_w = COMPUTED_DRAW(source_w=[one.source_w for one in devices])
    cable_loss_w = COMPUTED_DRAW(source_w=[one.cable_loss_w for one in devices])
    inputs = mains_inputs(switch, computed_w)
    loss_w = None if switch.load_w is None else SWITCH_LOSS(**inputs)
    per_w = table("ups_facts").find(name="btu_per_h_per_w").number("value")
    heat = None if loss_w is None else HEAT(loss_w=loss_w, cable_loss_w=cable_loss_w, btu_per_h_per_w=per_w)
    return SwitchPower(
        switch=switch,
        devices=devices,
        unpowered=unpowered,
        classes=classes,
        class_ports=class_ports,
        class_w=class_w,
        allocated_w=allocated_w,
        computed_w=computed_w,
        usable_w=USABLE(budget_w=switch.budget_w, reserve=rules.poe_reserve),
        needed_w=allocated_w if rules.poe_budget_by == "class" else computed_w,
        cable_loss_w=cable_loss_w,
        mains_w=MAINS(**inputs),
        loss_w=loss_w,
        heat_btu_per_h=heat,
    )


def mains_inputs(switch: NetworkSwitch, given_w: float) -> Mapping[str, float]:
    """Return what a switch's mains power comes from [W]; what isn't typed counts nothing and loses nothing."""
    return {
        "own_w": 0.0 if switch.load_w is None else switch.load_w,
        "given_w": given_w,
        "efficiency": 1.0 if switch.poe_efficiency is None else switch.poe_efficiency,
    }


WITHIN_BUDGET, USES_RESERVE, OVER_BUDGET = "within budget", "uses the reserve", "over budget"


def budget_word(one: SwitchPower) -> str:
    """Return whether a switch stays within what its reserve leaves, uses the reserve, or lacks power."""
    if over(one.needed_w, one.switch.budget_w):
        return OVER_BUDGET
    return USES_RESERVE if over(one.needed_w, one.usable_w) else WITHIN_BUDGET
