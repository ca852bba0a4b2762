"""What a job's conductors resist: ohms per meter of each cable at its temperature, with their origin.

A typed resistance comes first. Without one, life-safety circuits take NEC Chapter 9 Table 8 at its
own temperature, coated or not; every other circuit takes copper of the gauge's diameter at the
temperature of its surroundings. The rule `conductor_basis` puts all circuits on either of the two.
A powered bundle warms its own cables, so that its rise counts for balanced pairs alone.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Final

from estimator.calc.conductor import CORRECTED, RESISTANCE, Gauge, area_m2, diameter_m, ohm_per_m_from_kft
from estimator.calc.formula import Expression
from estimator.reference.lookup import Row, table
from estimator.spec.life_safety import LIFE_SAFETY as LIFE_SAFETY
from estimator.spec.model import Cable, Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.columns import column
from estimator.takeoff.footage import rule_origin
from estimator.takeoff.orders import cable_origin
from estimator.takeoff.worked import Family, Input

BY_USE, TABLE_8, DIAMETER = "by_use", "nec_table_8", "diameter"
"""What a conductor's resistance is taken from: Table 8 for life safety and its diameter elsewhere, or one for all."""

WITHOUT_CONDUCTORS: Final = ("coax", "fiber")
"""Media whose gauge says nothing about a pair of power conductors."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Conductor:
    """One conductor of a cable: its resistance at a temperature, and how that was found."""

    cable: Cable
    life_safety: bool
    ohm_per_m: float
    formula: Expression
    inputs: Mapping[str, Input]
    source: str

    @property
    def id(self) -> str:
        """Return the cable's name."""
        return self.cable.id

    @property
    def figure(self) -> str:
        """Return the id of its figure."""
        return f"cable.{self.cable.id}.{figure_name(self.life_safety)}"

    def as_input(self) -> Input:
        """Return its resistance as an input of another formula."""
        return Input(self.ohm_per_m, "ohm/m", f"{self.figure}, {self.source}")


def figure_name(life_safety: bool) -> str:
    """Return the name of a conductor's figure: life-safety circuits have one of their own."""
    return "life_safety_conductor" if life_safety else "conductor"


def fact(name: str, facts: str = "conductor_facts") -> Row:
    """Return one row of a table of single facts."""
    return table(facts).find(name=name)


class Conductors:
    """The conductors of a job, each worked out once.

    ``measured`` ones are what a meter sees: copper by its diameter, as warm as the building is,
    never the hot conductor of a design.
    """

    def __init__(self, project: Project, *, measured: bool = False) -> None:
        """Start with none worked out."""
        if measured:
            project = replace(project, rules=replace(project.rules, conductor_basis=DIAMETER, bundle_rise_c=0.0))
        self.project = project
        self._found: dict[tuple[str, bool], Conductor | None] = {}
        self._stocked: dict[tuple[str, bool], Mapping[int, float]] = {}

    def of(self, cable: Cable, life_safety: bool = False) -> Conductor | None:
        """Return a cable's conductor, or None where nothing tells its resistance."""
        key = (cable.id, life_safety)
        if key not in self._found:
            self._found[key] = work_out_conductor(cable, life_safety, self.project)
        return self._found[key]

    def stocked(self, cable: Cable, life_safety: bool = False) -> Mapping[int, float]:
        """Return what a cable's conductor would resist in each stocked gauge [ohm/m].

        Nothing where its resistance is typed or its gauge isn't: no other gauge is known to be like it.
        For life safety only the gauges of Table 8 are offered, thinner ones are none of its wire.
        """
        if cable.awg is None or cable.ohm_per_m is not None:
            return {}
        key = (cable.id, life_safety)
        if key not in self._stocked:
            coded = {int(row.number("awg")) for row in table("nec_table_8")}
            sizes = [int(row.number("awg")) for row in table("wire_sizes")]
            sizes = [awg for awg in sizes if awg in coded or not life_safety]
            like = {awg: work_out_conductor(replace(cable, awg=awg), life_safety, self.project) for awg in sizes}
            self._stocked[key] = {awg: one.ohm_per_m for awg, one in like.items() if one is not None}
        return self._stocked[key]

    def used(self) -> tuple[Conductor, ...]:
        """Return those that were asked for, in the order they were."""
        return tuple(one for one in self._found.values() if one is not None)


def work_out_conductor(cable: Cable, life_safety: bool, project: Project) -> Conductor | None:
    """Return a cable's conductor at its circuit's temperature, or None where nothing tells it."""
    if cable.ohm_per_m is not None:
        return _stated(cable, life_safety, project)
    if cable.awg is None or cable.medium in WITHOUT_CONDUCTORS:
        return None
    stranded = cable.stranding == "stranded"
    key = {"awg": cable.awg, "coated": cable.coated, "stranded": stranded}
    basis, temperature = project.rules.conductor_basis, _temperature(cable, life_safety, project)
    if (basis == TABLE_8 or (basis == BY_USE and life_safety)) and table("nec_table_8").has(**key):
        return _tabled(cable, table("nec_table_8").find(**key), life_safety, temperature)
    return _by_diameter(cable, life_safety, temperature)


def other_basis(conductor: Conductor) -> Conductor | None:
    """Return the conductor by the basis that it wasn't worked out by, at the same temperature.

    Beside Table 8 stands copper of the gauge's diameter and the other way round; None where its
    resistance is typed or the table lacks its gauge.
    """
    cable, temperature = conductor.cable, conductor.inputs["temperature_c"]
    if cable.ohm_per_m is not None:
        return None
    if conductor.formula is CORRECTED:
        return _by_diameter(cable, conductor.life_safety, temperature)
    key = {"awg": cable.awg or 0, "coated": cable.coated, "stranded": cable.stranding == "stranded"}
    if not table("nec_table_8").has(**key):
        return None
    return _tabled(cable, table("nec_table_8").find(**key), conductor.life_safety, temperature)


def _temperature(cable: Cable, life_safety: bool, project: Project) -> Input:
    basis = project.rules.conductor_basis
    if basis == TABLE_8 or (basis == BY_USE and life_safety):
        row = fact("nec_table_8_reference")
        why = "life-safety circuit" if basis == BY_USE else rule_origin(project, "conductor_basis")
        return Input(row.number("value"), "C", f"{why}: {row.source}")
    rules = project.rules
    if cable.medium != "balanced_pair":
        return Input(rules.ambient_c, "C", rule_origin(project, "ambient_c"))
    origin = f"{rule_origin(project, 'ambient_c')}, with {rule_origin(project, 'bundle_rise_c')}"
    return Input(rules.ambient_c + rules.bundle_rise_c, "C", origin)


def _copper() -> Row:
    return table("metals").find(metal="copper")


def _metal_factor(cable: Cable) -> tuple[float, str]:
    """Return the ratio to copper, that of the clad wire with the least copper in it."""
    if cable.material == "copper":
        return 1.0, "copper"
    row = table("metals").find(metal="copper_clad_aluminum_10")
    return row.number("ratio_to_copper"), f"copper-clad aluminum, ratio to copper of the same diameter: {row.source}"


def _stated(cable: Cable, life_safety: bool, project: Project) -> Conductor:
    copper = _copper()
    assert cable.ohm_per_m is not None
    inputs = {
        "reference_ohm_per_m": Input(cable.ohm_per_m, "ohm/m", cable_origin(cable, "ohm_per_m", "ohm_per_m")),
        "coefficient_per_k": Input(copper.number("coefficient_per_k"), "1/K", copper.source),
        "temperature_c": _temperature(cable, life_safety, project),
        "reference_c": Input(copper.number("reference_c"), "C", "temperature of a stated resistance"),
        "factor": Input(1.0, "", "a stated resistance has metal and lay in it"),
    }
    return _made(cable, life_safety, CORRECTED, inputs, "stated resistance of the cable")


def _tabled(cable: Cable, row: Row, life_safety: bool, temperature: Input) -> Conductor:
    reference, coefficient = fact("nec_table_8_reference"), fact("nec_table_8_coefficient")
    factor, origin = _metal_factor(cable)
    tabled = ohm_per_m_from_kft(ohm_per_kft=row.number("ohm_per_kft"))
    words = f"{'stranded' if row.cells['stranded'] else 'solid'}, {'coated' if row.cells['coated'] else 'uncoated'}"
    inputs = {
        "reference_ohm_per_m": Input(tabled, "ohm/m", f"{row.source}, {cable.awg} AWG {words}"),
        "coefficient_per_k": Input(coefficient.number("value"), "1/K", coefficient.source),
        "temperature_c": temperature,
        "reference_c": Input(reference.number("value"), "C", reference.source),
        "factor": Input(factor, "", origin),
    }
    return _made(cable, life_safety, CORRECTED, inputs, row.source)


def _by_diameter(cable: Cable, life_safety: bool, temperature: Input) -> Conductor:
    gauge_row, copper = table("awg_definition").rows[0], _copper()
    gauge = Gauge(**{name: gauge_row.number(name) for name in ("anchor_awg", "anchor_m", "ratio", "steps")})
    factor, origin = _metal_factor(cable)
    if cable.stranding == "stranded":
        lay = fact("stranding_factor")
        factor, origin = factor * lay.number("value"), f"{origin}; stranded: {lay.source}"
    assert cable.awg is not None
    section = area_m2(diameter_m=diameter_m(awg=cable.awg, gauge=gauge))
    gauge_origin = f"{gauge_row.source}, {cable.awg} AWG ({cable_origin(cable, 'awg', 'gauge')})"
    inputs = {
        "resistivity_ohm_m": Input(copper.number("resistivity_ohm_m"), "ohm m", copper.source),
        "area_m2": Input(section, "m2", gauge_origin),
        "coefficient_per_k": Input(copper.number("coefficient_per_k"), "1/K", copper.source),
        "temperature_c": temperature,
        "reference_c": Input(copper.number("reference_c"), "C", copper.source),
        "factor": Input(factor, "", origin),
    }
    return _made(cable, life_safety, RESISTANCE, inputs, f"{gauge_row.source}; {copper.source}")


def _made(cable: Cable, life_safety: bool, formula: Expression, inputs: Mapping[str, Input], source: str) -> Conductor:
    value = formula(**{name: one.value for name, one in inputs.items()})
    return Conductor(
        cable=cable, life_safety=life_safety, ohm_per_m=value, formula=formula, inputs=inputs, source=source
    )


def conductor_families(conductors: Conductors) -> Iterable[Family]:
    """Yield the resistance of every conductor that a figure of the job uses."""
    groups: dict[tuple[bool, Expression], list[Conductor]] = {}
    for one in conductors.used():
        groups.setdefault((one.life_safety, one.formula), []).append(one)
    source = "stated; NFPA 70 Chapter 9 Table 8 for life safety; ASTM B258 copper"
    for (life_safety, formula), members in groups.items():
        figure = ("cable", figure_name(life_safety), "resistance of one conductor", "ohm/m")
        yield column(figure, formula, source, members, lambda one: one.ohm_per_m, lambda one: one.inputs)
        others = [other for other in map(other_basis, members) if other is not None]
        beside = ("cable", f"{figure_name(life_safety)}_beside", "the same by the other basis, for comparison", "ohm/m")
        if others:
            yield column(beside, others[0].formula, source, others, lambda one: one.ohm_per_m, lambda one: one.inputs)


def conductor_alerts(conductors: Conductors) -> Iterable[Alert]:
    """Yield a warning for every balanced-pair cable of copper-clad aluminum."""
    seen: set[str] = set()
    for one in conductors.used():
        cable = one.cable
        if cable.material == "copper" or cable.medium != "balanced_pair" or cable.id in seen:
            continue
        seen.add(cable.id)
        yield Alert(
            cable.source.at("material"),
            "clad conductor",
            cable.id,
            f"cable {cable.id} has clad aluminum conductors",
            "copper-clad aluminum",
            "copper",
            "ANSI/TIA-568 balanced cabling",
            "buy solid copper",
        )
