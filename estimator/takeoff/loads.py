"""What each control unit and supply feeds, and what every device draws in standby and in alarm."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from estimator.calc.lock import in_alarm_a, resting_a
from estimator.spec.cabling import DeviceType
from estimator.spec.faults import Place
from estimator.spec.feeds import Circuit, ControlUnit, PowerSupply, Stop
from estimator.spec.model import Project, Run

POWER_MEDIA: Final = ("two_conductor", "multi_conductor")
"""Cables that carry a device's DC supply, where the device has several."""

SPEAKER_KINDS: Final = ("speaker", "low_impedance_speaker")


@dataclass(frozen=True, slots=True)
class Amps:
    """A current of one device and where it stands [A]."""

    amps: float
    origin: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Drawn:
    """One line of a load list: so many pieces, each with its current in standby and in alarm."""

    name: str
    where: str
    quantity: float
    standby: Amps
    alarm: Amps
    shed: bool
    place: Place


class Fed:
    """Circuits and single devices by the unit or supply that feeds them."""

    def __init__(self, project: Project) -> None:
        """Sort the job's circuits and drops by their source."""
        self.circuits: dict[str, list[Circuit]] = {}
        self.runs: dict[str, list[Run]] = {}
        for circuit in project.circuits.values():
            self.circuits.setdefault(circuit.feed, []).append(circuit)
        for runs in _devices(project.runs):
            supply = runs[0].drop.supply
            if supply is not None:
                chosen = next((run for run in runs if run.cable.medium in POWER_MEDIA), runs[0])
                self.runs.setdefault(supply, []).append(chosen)


def _devices(runs: Iterable[Run]) -> Iterable[list[Run]]:
    """Yield the runs of each device together."""
    together: list[Run] = []
    for run in runs:
        if run.first and together:
            yield together
            together = []
        together.append(run)
    if together:
        yield together


def volts_of(feed: ControlUnit | PowerSupply) -> float:
    """Return the nominal volts of what feeds a device [V]."""
    return feed.nominal_v if isinstance(feed, ControlUnit) else feed.volts


def alarm_stated(device: DeviceType, setting: str | None) -> Amps | None:
    """Return a device's total alarm current at its setting, or None where none is typed.

    Without a setting the largest of them counts.
    """
    settings = dict(device.settings)
    place = device.source.at("settings")
    if setting in settings:
        amps, words = settings[str(setting)], f"{device.id} at {setting}, {place}"
    elif device.alarm_a is not None:
        amps, words = device.alarm_a, f"{device.id}, {device.source.at('alarm_current')}"
    elif settings:
        amps, words = max(settings.values()), f"{device.id}, no setting typed: the largest, {place}"
    else:
        return None
    if device.alarm_is == "added":
        return Amps(amps + (device.standby_a or 0.0), f"{words}, added to standby")
    return Amps(amps, f"{words}, total in alarm")


def running(device: DeviceType, volts: float) -> Amps | None:
    """Return a device's holding or running current, or None where neither that nor a power is typed."""
    if device.current_a is not None:
        return Amps(device.current_a, f"{device.id}, {device.source.at('current')}")
    if device.power_w is not None:
        return Amps(device.power_w / volts, f"{device.id}, {device.source.at('power')} at {volts:g} V")
    return None


def most_drawn(device: DeviceType, setting: str | None, volts: float) -> float:
    """Return a device's largest lasting current [A]: standby, alarm or running."""
    stated, on = alarm_stated(device, setting), running(device, volts)
    return max(device.standby_a or 0.0, stated.amps if stated else 0.0, on.amps if on else 0.0)


def standby_of(device: DeviceType, volts: float) -> Amps:
    """Return what a device draws in standby: typed, else running; a fail-secure lock rests without."""
    if device.standby_a is not None:
        return Amps(device.standby_a, f"{device.id}, {device.source.at('standby_current')}")
    found = running(device, volts)
    if found is None:
        return Amps(0.0, f"{device.id} types no standby current")
    if device.fail == "secure":
        at_rest = resting_a(fail="secure", holding_a=found.amps)
        return Amps(at_rest, f"{device.id} is fail-secure: no current until it opens")
    return found


def alarm_of(device: DeviceType, setting: str | None, volts: float) -> Amps:
    """Return what a device draws in alarm: typed, else by its release, else as in standby."""
    stated = alarm_stated(device, setting)
    if stated is not None:
        return stated
    found = running(device, volts)
    if device.release_on_alarm and device.fail == "safe":
        freed = in_alarm_a(fail="safe", holding_a=found.amps if found else 0.0, released=True)
        return Amps(freed, f"{device.id} is released by the fire alarm")
    if device.release_on_alarm and device.fail == "secure" and found is not None:
        opened = in_alarm_a(fail="secure", holding_a=found.amps, released=True)
        return Amps(opened, f"{found.origin}, opened by the fire alarm")
    resting = standby_of(device, volts)
    return Amps(resting.amps, f"{resting.origin}, in standby still")


def stop_load(stop: Stop, circuit: Circuit, project: Project, volts: float) -> Drawn:
    """Return the line of a device on a circuit; an appliance sounds in alarm alone."""
    device = project.devices[stop.device]
    at = f"{device.id} at {stop.setting}" if stop.setting else device.id
    alarm = alarm_of(device, stop.setting, volts)
    standby = standby_of(device, volts)
    if circuit.kind == "notification":
        standby = Amps(device.standby_a or 0.0, standby.origin if device.standby_a else f"{device.id}: silent")
        silent = Amps(0.0, f"{device.id} types no alarm current")
        alarm = alarm_stated(device, stop.setting) or running(device, volts) or silent
    return Drawn(
        name=at,
        where=f"circuit {circuit.id}",
        quantity=float(stop.count),
        standby=standby,
        alarm=alarm,
        shed=False,
        place=stop.source.at("device"),
    )


def run_load(run: Run, volts: float) -> Drawn | None:
    """Return the line of a device that a unit feeds over a cable of its own."""
    if run.device is None:
        return None
    alarm = alarm_of(run.device, run.drop.setting, volts)
    return Drawn(
        name=run.device.id,
        where=f"drop {run.id}",
        quantity=1.0,
        standby=standby_of(run.device, volts),
        alarm=alarm,
        shed=False,
        place=run.drop.source.at("supply"),
    )


def system_loads(unit: ControlUnit, project: Project, fed: Fed) -> tuple[Drawn, ...]:
    """Return the whole system's load list: the unit, its loads, its circuits and what it feeds."""
    own = Drawn(
        name=unit.name or unit.id,
        where="control unit",
        quantity=1.0,
        standby=Amps(unit.standby_a, f"{unit.id}, {unit.source.at('standby_current')}"),
        alarm=Amps(unit.alarm_a, f"{unit.id}, {unit.source.at('alarm_current')}"),
        shed=False,
        place=unit.source.at("id"),
    )
    loads = [
        Drawn(
            name=load.name,
            where="load",
            quantity=float(load.count),
            standby=Amps(load.standby_a, f"load, {load.source.at('standby_current')}"),
            alarm=Amps(load.alarm_a, f"load, {load.source.at('alarm_current')}"),
            shed=load.shed,
            place=load.source.at("name"),
        )
        for load in unit.loads
    ]
    volts = unit.nominal_v
    circuits = [
        stop_load(stop, circuit, project, volts)
        for circuit in fed.circuits.get(unit.id, ())
        if circuit.kind not in SPEAKER_KINDS
        for stop in circuit.stops
    ]
    runs = [line for run in fed.runs.get(unit.id, ()) if (line := run_load(run, volts)) is not None]
    return (own, *loads, *circuits, *runs)
