"""Direct-current wiring of a job: notification circuits, DC branches, supply-fed devices, loops."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from estimator.calc.battery import TOTAL
from estimator.calc.lock import STAGED
from estimator.reference.lookup import table
from estimator.spec.cabling import DeviceType
from estimator.spec.faults import Place
from estimator.spec.feeds import Amplifier, Circuit, ControlUnit, PowerSupply
from estimator.spec.life_safety import circuit_is_life_safety, run_is_life_safety
from estimator.spec.model import Project, Run
from estimator.spec.rules import nac_start
from estimator.takeoff.conductors import Conductor, Conductors
from estimator.takeoff.dc_lines import BRANCH, NAC, AtPlace, Basis, DcLine, solve_line
from estimator.takeoff.dc_reach import with_reach
from estimator.takeoff.footage import Footage, Length, rule_origin
from estimator.takeoff.loads import Amps, Fed, alarm_stated, most_drawn, running, stop_load, volts_of
from estimator.takeoff.wire_loops import WireLoop, typed_rating, wire_loop
from estimator.takeoff.worked import Input

LOOPS: Final = ("notification", "signaling", "initiating")
"""Kinds of circuits whose wire is measured there and back."""

Feed = ControlUnit | PowerSupply


@dataclass(frozen=True, kw_only=True, slots=True)
class Unsolved:
    """A line that could not be computed, and why."""

    id: str
    place: Place
    missing: str
    advice: str


@dataclass(frozen=True, kw_only=True, slots=True)
class SupplyLoad:
    """What a rated supply must give with everything on at once, each device's largest current."""

    feed: Feed
    rating: Input
    names: tuple[str, ...]
    quantity: tuple[float, ...]
    each_a: tuple[float, ...]
    inrush_a: tuple[float, ...]
    total_a: float
    surge_a: float

    @property
    def steps_a(self) -> tuple[float, ...]:
        """Return what each load takes more at inrush than it lasts at [A], one piece of each."""
        pairs = zip(self.inrush_a, self.each_a, strict=True)
        return tuple(max(0.0, surge - steady) for surge, steady in pairs) or (0.0,)

    @property
    def staged_a(self) -> float:
        """Return its largest current where its loads start one after another [A]."""
        return STAGED(total_a=self.total_a, steps_a=self.steps_a)

    @property
    def id(self) -> str:
        """Return the supply's name."""
        return self.feed.id


@dataclass(frozen=True, kw_only=True, slots=True)
class DcCircuits:
    """All direct-current wiring of the job."""

    lines: tuple[DcLine, ...]
    loops: tuple[WireLoop, ...]
    supplies: tuple[SupplyLoad, ...]
    unsolved: tuple[Unsolved, ...]


def work_out_dc(
    project: Project, footage: Footage, conductors: Conductors | None = None, fed: Fed | None = None
) -> DcCircuits:
    """Return the state of every notification circuit, DC branch and supply-fed device, and all loops."""
    known, sources = conductors or Conductors(project), fed or Fed(project)
    metered = Conductors(project, measured=True)
    found: list[DcLine | WireLoop | Unsolved] = []
    for circuit in project.circuits.values():
        found.extend(_circuit(circuit, project, footage.by_id[circuit.id], known, metered))
    for name, runs in sources.runs.items():
        feed = project.feed(name)
        for run in runs:
            length = footage.by_id.get(run.id)
            if length is not None and not isinstance(feed, Amplifier):
                found.append(_fed_device(run, feed, length, known, project))
    return DcCircuits(
        lines=tuple(one for one in found if isinstance(one, DcLine)),
        loops=tuple(one for one in found if isinstance(one, WireLoop)),
        supplies=tuple(_supplies(project, sources)),
        unsolved=tuple(one for one in found if isinstance(one, Unsolved)),
    )


def _circuit(
    circuit: Circuit, project: Project, length: Length, known: Conductors, metered: Conductors
) -> Iterable[DcLine | WireLoop | Unsolved]:
    feed = project.feed(circuit.feed)
    if isinstance(feed, Amplifier) or circuit.kind not in (*LOOPS, "dc"):
        return
    safety = circuit_is_life_safety(circuit, project)
    wired, seen = known.of(length.cable, safety), metered.of(length.cable)
    if wired is None or seen is None:
        yield _no_gauge(circuit.id, length)
        return
    if circuit.kind in LOOPS:
        yield wire_loop(circuit, length, wired, seen, project)
    if circuit.kind in ("notification", "dc") and circuit.stops:
        basis = _basis(circuit, feed, length, wired, project)
        yield basis if isinstance(basis, Unsolved) else _solved(basis, project, known)


def _solved(basis: Basis, project: Project, known: Conductors) -> DcLine:
    stocked = known.stocked(basis.conductor.cable, basis.conductor.life_safety)
    return with_reach(solve_line(basis, project.rules), project.rules, stocked)


def _no_gauge(ident: str, length: Length) -> Unsolved:
    missing, advice = f"cable {length.cable.id} has no gauge", "type `gauge:` or `ohm_per_m:` for it"
    if length.cable.medium == "coax":
        missing = f"nothing tells the wires beside the center of coax {length.cable.id}"
        advice = "list the power pair as a second cable of the device (`cable: [...]`), or type its `ohm_per_m:`"
    return Unsolved(id=ident, place=length.place, missing=missing, advice=advice)


def _no_current(ident: str, device: DeviceType) -> Unsolved:
    return Unsolved(
        id=ident,
        place=device.source.at("id"),
        missing=f"device {device.id} types no current",
        advice="type its current from the data sheet",
    )


def drawn_by(device: DeviceType, volts: float) -> Amps | None:
    """Return the current that a DC device may draw: running, else the larger of standby and alarm."""
    found = running(device, volts)
    if found is not None:
        return found
    stated = alarm_stated(device, None)
    if device.standby_a is not None and (stated is None or device.standby_a > stated.amps):
        return Amps(device.standby_a, f"{device.id}, {device.source.at('standby_current')}")
    return stated


def start_of(circuit: Circuit | None, feed: Feed, notification: bool) -> Input:
    """Return the volts at the start of a line with their origin [V]."""
    if circuit is not None and circuit.start_v is not None:
        return Input(circuit.start_v, "V", f"circuit, {circuit.source.at('start_voltage')}")
    if isinstance(feed, ControlUnit) and feed.start_v is not None:
        listing = f", listing {feed.start_listing}" if feed.start_listing else ""
        return Input(feed.start_v, "V", f"control unit, {feed.source.at('start_voltage')}{listing}")
    nominal = volts_of(feed)
    if not notification:
        return Input(nominal, "V", f"{feed.id}, {feed.source.at('voltage')}")
    volts, source = nac_start(nominal)
    return Input(volts, "V", source)


def _sag(feed: Feed) -> Input:
    if isinstance(feed, ControlUnit) and feed.sag_v_per_a:
        return Input(feed.sag_v_per_a, "V/A", f"control unit, {feed.source.at('sag_per_ampere')}")
    return Input(0.0, "V/A", "no sag is typed")


def _rating(circuit: Circuit, feed: Feed) -> Input | None:
    typed = typed_rating(circuit)
    if typed is not None:
        return typed
    if isinstance(feed, ControlUnit) and feed.circuit_a is not None:
        return Input(feed.circuit_a, "A", f"control unit, {feed.source.at('circuit_rating')}")
    return None


def _minimum(device: DeviceType, nominal: float, notification: bool) -> tuple[float, str]:
    if device.least_v is not None:
        return device.least_v, f"{device.id}, {device.source.at('least_voltage')}"
    rows = table("nac_appliance_range")
    if notification and rows.has(nominal_v=nominal):
        row = rows.find(nominal_v=nominal)
        return row.number("minimum_v"), f"least of the listed range at {nominal:g} V: {row.source}"
    return 0.0, f"{device.id} types no least voltage"


def _drop_limit(devices: Iterable[DeviceType], notification: bool, project: Project) -> Input:
    """Return the largest drop of a line as a share of its volts: the house's, else what practice allows its loads."""
    if notification:
        return Input(project.rules.nac_drop, "share", rule_origin(project, "nac_drop"))
    if project.rules.ruled("dc_drop").place is None and any(device.fail is not None for device in devices):
        row = table("dc_drop_practice").find(use="lock")
        return Input(row.number("max_percent") / 100, "share", f"a lock on the line: {row.source}")
    return Input(project.rules.dc_drop, "share", rule_origin(project, "dc_drop"))


def _basis(circuit: Circuit, feed: Feed, length: Length, wired: Conductor, project: Project) -> Basis | Unsolved:
    notification, nominal = circuit.kind == "notification", volts_of(feed)
    places = []
    for stop in circuit.stops:
        device = project.devices[stop.device]
        each = stop_load(stop, circuit, project, nominal).alarm if notification else drawn_by(device, nominal)
        if each is None or (notification and each.amps == 0.0):
            return _no_current(circuit.id, device)
        minimum, origin = _minimum(device, nominal, notification)
        watts = 0.0 if notification else _constant_w(device)
        places.append(
            AtPlace(
                device=device,
                name=stop.id or device.id,
                quantity=float(stop.count),
                distance_m=stop.distance_m,
                each=each,
                each_w=watts,
                minimum_v=minimum,
                minimum_origin=origin,
            )
        )
    return Basis(
        id=circuit.id,
        what=NAC if notification else BRANCH,
        length=length,
        conductor=wired,
        source=start_of(circuit, feed, notification),
        sag=_sag(feed),
        places=tuple(places),
        return_m=circuit.return_m if circuit.circuit_class in ("A", "X") else 0.0,
        rating=_rating(circuit, feed),
        most_drop=_drop_limit((place.device for place in places), notification, project),
    )


def _constant_w(device: DeviceType) -> float:
    """Return the watts of a constant-power load [W]; a typed current comes first."""
    return 0.0 if device.current_a is not None else device.power_w or 0.0


def _fed_device(run: Run, feed: Feed, length: Length, known: Conductors, project: Project) -> DcLine | Unsolved:
    device, wired = run.device, known.of(run.cable, run_is_life_safety(run))
    if wired is None:
        return _no_gauge(run.id, length)
    if device is None:
        return Unsolved(
            id=run.id, place=length.place, missing=f"drop {run.id} names no device", advice="name its `device:`"
        )
    each = drawn_by(device, volts_of(feed))
    if each is None:
        return _no_current(run.id, device)
    minimum, origin = _minimum(device, volts_of(feed), False)
    place = AtPlace(
        device=device,
        name=device.id,
        quantity=1.0,
        distance_m=length.expected_m,
        each=each,
        each_w=_constant_w(device),
        minimum_v=minimum,
        minimum_origin=origin,
    )
    basis = Basis(
        id=run.id,
        what=BRANCH,
        length=length,
        conductor=wired,
        source=start_of(None, feed, False),
        sag=_sag(feed),
        places=(place,),
        return_m=0.0,
        rating=None,
        most_drop=_drop_limit((device,), False, project),
    )
    return _solved(basis, project, known)


def _supplies(project: Project, fed: Fed) -> Iterable[SupplyLoad]:
    """Yield every supply with a rating; a control unit's own current is inside its listing."""
    for supply in project.supplies.values():
        rating = Input(supply.rating_a, "A", f"power supply, {supply.source.at('rating')}")
        yield _supply_load(supply, rating, project, fed)
    for unit in project.control_units.values():
        if unit.supply_a is not None:
            rating = Input(unit.supply_a, "A", f"control unit, {unit.source.at('supply_rating')}")
            yield _supply_load(unit, rating, project, fed)


def _supply_load(feed: Feed, rating: Input, project: Project, fed: Fed) -> SupplyLoad:
    drawn: list[tuple[str, float, float, float]] = []
    if isinstance(feed, ControlUnit):
        for load in feed.loads:
            most = max(load.standby_a, load.alarm_a)
            drawn.append((load.name, float(load.count), most, most))
    for circuit in fed.circuits.get(feed.id, ()):
        for stop in circuit.stops:
            device = project.devices[stop.device]
            most = most_drawn(device, stop.setting, volts_of(feed))
            drawn.append((f"{device.id} ({circuit.id})", float(stop.count), most, device.inrush_a or most))
    for run in fed.runs.get(feed.id, ()):
        if run.device is not None:
            most = most_drawn(run.device, run.drop.setting, volts_of(feed))
            drawn.append((f"{run.device.id} ({run.id})", 1.0, most, run.device.inrush_a or most))
    names, quantity, each, inrush = (tuple(column) for column in zip(*drawn, strict=True)) if drawn else ((),) * 4
    return SupplyLoad(
        feed=feed,
        rating=rating,
        names=names,
        quantity=quantity,
        each_a=each,
        inrush_a=inrush,
        total_a=TOTAL(quantity=quantity, each_a=each),
        surge_a=TOTAL(quantity=quantity, each_a=inrush),
    )
