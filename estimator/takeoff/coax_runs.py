"""Coaxial runs: what a meter reads into a sound cable, and what its line loses at the frequency that counts.

Center and shield are as typed, else as tabled for the family and the metal of the center. Where the
center isn't typed the worse metal sets the largest loop, and no loop is expected.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Final

from estimator.calc.coax import LINE_LOSS, M_PER_100FT, MOST_LOOP, WARM, fitted_loss_db, loop_ohm_per_m, table_loss_db
from estimator.calc.conductor import CORRECTED, Gauge, Metal, gauge_ohm_per_m, ohm_per_m_from_kft
from estimator.reference.lookup import Row, table
from estimator.spec.model import Cable, Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.columns import column
from estimator.takeoff.footage import Footage, Length, rule_origin
from estimator.takeoff.worked import Family, Input
from estimator.units.rounding import over, under

COPPER, STEEL = "copper", "copper_clad_steel"
_MHZ: Final = 1e6

_FITTED: Final[Mapping[tuple[str, str], str]] = {
    ("rg59", COPPER): "rg59_solid",
    ("rg59", STEEL): "rg59_solid",
    ("rg6", COPPER): "series_6_solid_copper",
    ("rg6", STEEL): "series_6",
    ("rg11", COPPER): "rg11_foam",
    ("rg11", STEEL): "rg11_foam",
}
"""Row of the loss models by family and center; baseband video asks for solid copper centers."""

_LISTED: Final[Mapping[str, str]] = {"rg6": "series_6", "rg11": "series_11"}
"""Cable of the list of largest losses by family; for the others only nominal losses are tabled."""


@dataclass(frozen=True, kw_only=True, slots=True)
class CoaxCable:
    """A coaxial cable type: center and shield together at 20 °C and at the temperature of the job."""

    cable: Cable
    center: str  # as typed, else empty
    least_ohm_per_m: float
    most_ohm_per_m: float
    reference_ohm_per_m: float  # the most, at 20 °C
    source: str
    confidence: str

    @property
    def id(self) -> str:
        """Return the cable's name."""
        return self.cable.id


@dataclass(frozen=True, kw_only=True, slots=True)
class CoaxRun:
    """One coaxial run with its cable, its largest loop and its loss at the frequency of the plan."""

    length: Length
    coax: CoaxCable
    most_loop_ohm: float
    frequency_mhz: float
    per_100ft: Row
    db_per_100ft: float
    m_per_100ft: float  # the length that the cable's loss is tabled for
    factor: float
    loss_db: float

    @property
    def id(self) -> str:
        """Return the run's circuit."""
        return self.length.id


@dataclass(frozen=True, kw_only=True, slots=True)
class CoaxRuns:
    """The coaxial cable types of a job and their runs."""

    cables: Mapping[str, CoaxCable]
    runs: tuple[CoaxRun, ...]


def fact(name: str) -> Row:
    """Return one fact about coaxial links."""
    return table("coax_facts").find(name=name)


class CoaxCables:
    """The coaxial cable types of a job, each worked out once."""

    def __init__(self, project: Project) -> None:
        """Start with none worked out."""
        self.project = project
        self.warm_loss = WARM(**_values(_warm_inputs(project)))
        self._found: dict[str, CoaxCable] = {}

    def of(self, cable: Cable) -> CoaxCable:
        """Return what center and shield of a cable type resist together."""
        if cable.id not in self._found:
            self._found[cable.id] = _coax_cable(cable, self.project)
        return self._found[cable.id]


def work_out_coax(project: Project, footage: Footage) -> CoaxRuns:
    """Return loops and losses of every coaxial run."""
    lengths = [length for length in footage.lengths if length.cable.medium == "coax"]
    known = CoaxCables(project)
    cables = {length.cable.id: known.of(length.cable) for length in lengths}
    losses = {name: (*_loss(one.cable, project), known.warm_loss) for name, one in cables.items()}
    return CoaxRuns(
        cables=cables,
        runs=tuple(_run(length, cables[length.cable.id], losses[length.cable.id], project) for length in lengths),
    )


def _coax_cable(cable: Cable, project: Project) -> CoaxCable:
    typed = cable.typed
    center = (typed.center if typed else None) or ""
    if typed is not None and typed.ohm_per_m is not None and typed.shield_ohm_per_m is not None:
        both = typed.ohm_per_m + typed.shield_ohm_per_m
        found = [(both, both, f"typed, {typed.source.at('ohm_per_m')}", "")]
    else:
        rows = [row for row in table("coax_loops") if row.text("coax_type") == (cable.coax_type or "rg59")]
        found = [_tabled(row) for row in rows if center in ("", row.text("center"))]
    least = min(low for low, _, _, _ in found)
    _, most, source, confidence = max(found, key=lambda one: one[1])
    factor = _warm_copper(project)
    return CoaxCable(
        cable=cable,
        center=center,
        least_ohm_per_m=factor * least,
        most_ohm_per_m=CORRECTED(**_values(_loop_inputs(most, source, project))),
        reference_ohm_per_m=most,
        source=source,
        confidence=confidence,
    )


def _tabled(row: Row) -> tuple[float, float, str, str]:
    """Return the least and the most that a tabled cable's center and shield resist at 20 °C [ohm/m]."""
    center = row.text("center").replace("_", " ")
    source = f"{row.text('coax_type')} with a center of {center}: {row.source}"
    if row.optional("loop_ohm_per_kft") is not None:
        low = high = ohm_per_m_from_kft(ohm_per_kft=row.number("loop_ohm_per_kft"))
    elif row.optional("k0") is not None:
        low = high = loop_ohm_per_m(constant_db_per_100ft=row.number("k0"), impedance_ohm=row.number("impedance_ohm"))
    else:
        shields = [ohm_per_m_from_kft(ohm_per_kft=row.number(name)) for name in ("shield_low", "shield_high")]
        low, high = (_center(row) + shield for shield in shields)
    return low, high, source, row.confidence


def _center(row: Row) -> float:
    gauge, copper = table("awg_definition").rows[0], table("metals").find(metal="copper")
    return gauge_ohm_per_m(
        awg=int(row.number("center_awg")),
        gauge=Gauge(**{name: gauge.number(name) for name in ("anchor_awg", "anchor_m", "ratio", "steps")}),
        metal=Metal(
            **{name: copper.number(name) for name in ("resistivity_ohm_m", "coefficient_per_k", "reference_c")}
        ),
        temperature_c=copper.number("reference_c"),
        factor=table("metals").find(metal=row.text("metal")).number("ratio_to_copper"),
    )


def _loop_inputs(ohm_per_m: float, source: str, project: Project) -> Mapping[str, Input]:
    copper = table("metals").find(metal="copper")
    return {
        "reference_ohm_per_m": Input(ohm_per_m, "ohm/m", source),
        "coefficient_per_k": Input(copper.number("coefficient_per_k"), "1/K", copper.source),
        "temperature_c": Input(project.rules.ambient_c, "C", rule_origin(project, "ambient_c")),
        "reference_c": Input(copper.number("reference_c"), "C", copper.source),
        "factor": Input(1.0, "", "metal and gauge are in the resistance"),
    }


def _warm_copper(project: Project) -> float:
    return CORRECTED(**_values(_loop_inputs(1.0, "", project)))


def _values(inputs: Mapping[str, Input]) -> dict[str, float]:
    found = {}
    for name, one in inputs.items():
        assert not isinstance(one.value, tuple)
        found[name] = one.value
    return found


def frequency_of(cable: Cable, project: Project) -> float:
    """Return the frequency at which a cable's runs are read [MHz]: as accepted, else the color subcarrier."""
    asked = next((one for one in project.acceptance.cables if one.cable == cable.id), None)
    if asked is not None and asked.frequency_hz is not None:
        return asked.frequency_hz / _MHZ
    return table("video_facts").find(name="subcarrier_ntsc").number("value")


def loss_row(cable: Cable) -> Row:
    """Return the loss model of a cable type."""
    center = (cable.typed.center if cable.typed else None) or COPPER
    return table("coax_fit").find(cable=_FITTED[cable.coax_type or "rg59", center])


def listed_loss_db(cable: Cable, frequency_mhz: float) -> tuple[float, Row] | None:
    """Return the largest loss that is listed for a family at a frequency [dB per 100 ft], or None."""
    name = _LISTED.get(cable.coax_type or "")
    rows = [row for row in table("coax_loss") if row.text("cable") == name]
    points = [(row.number("frequency_mhz"), row.number("db_per_100ft")) for row in rows]
    if not points or under(frequency_mhz, points[0][0]) or over(frequency_mhz, points[-1][0]):
        return None
    return table_loss_db(points=points, frequency_mhz=frequency_mhz), rows[0]


def _loss(cable: Cable, project: Project) -> tuple[float, Row, float]:
    row, frequency_mhz = loss_row(cable), frequency_of(cable, project)
    return frequency_mhz, row, fitted_loss_db(k1=row.number("k1"), k2=row.number("k2"), frequency_mhz=frequency_mhz)


def _warm_inputs(project: Project) -> Mapping[str, Input]:
    coefficient, reference = fact("temperature_coefficient"), fact("reference_temperature")
    return {
        "coefficient_per_k": Input(coefficient.number("value"), "1/K", coefficient.source),
        "temperature_c": Input(project.rules.ambient_c, "C", rule_origin(project, "ambient_c")),
        "reference_c": Input(reference.number("value"), "C", reference.source),
    }


def _run(length: Length, coax: CoaxCable, loss: tuple[float, Row, float, float], project: Project) -> CoaxRun:
    frequency_mhz, row, per_100ft, factor = loss
    tolerance, leads = project.rules.loop_tolerance, fact("meter_leads").number("value")
    return CoaxRun(
        length=length,
        coax=coax,
        most_loop_ohm=length.expected_m * coax.most_ohm_per_m * (1 + tolerance) + leads,
        frequency_mhz=frequency_mhz,
        per_100ft=row,
        db_per_100ft=per_100ft,
        m_per_100ft=M_PER_100FT,
        factor=factor,
        loss_db=per_100ft * length.expected_m / M_PER_100FT * factor,
    )


def coax_families(coax: CoaxRuns, project: Project) -> Iterable[Family]:
    """Yield loop and loss of the coaxial cable types and runs; nothing where a job has none."""
    if not coax.runs:
        return
    figure = ("cable", "coax_loop", "center and shield together, the most that the cable may have", "ohm/m")
    yield column(
        figure, CORRECTED, table("coax_loops").source, coax.cables.values(), lambda one: one.most_ohm_per_m,
        lambda one: _loop_inputs(one.reference_ohm_per_m, one.source, project),
    )  # fmt: skip
    figure = ("coax", "most_loop", "largest loop that the sound cable can show", "ohm")
    yield column(
        figure, MOST_LOOP, "circuit theory; the tolerance is a house rule", coax.runs,
        lambda one: one.most_loop_ohm, lambda one: _most_inputs(one, project),
    )  # fmt: skip
    figure = ("coax", "line_loss", "loss of the line at the frequency of the plan", "dB")
    yield column(
        figure, LINE_LOSS, table("coax_fit").source, coax.runs, lambda one: one.loss_db,
        lambda one: _loss_inputs(one, project),
    )  # fmt: skip


def _length_input(one: CoaxRun) -> Input:
    return Input(one.length.expected_m, "m", f"{one.length.kind}.{one.id}.expected_length")


def _most_inputs(one: CoaxRun, project: Project) -> Mapping[str, Input]:
    leads = fact("meter_leads")
    return {
        "length_m": _length_input(one),
        "most_ohm_per_m": Input(one.coax.most_ohm_per_m, "ohm/m", f"cable.{one.coax.id}.coax_loop"),
        "tolerance": Input(project.rules.loop_tolerance, "", rule_origin(project, "loop_tolerance")),
        "leads_ohm": Input(leads.number("value"), "ohm", leads.source),
    }


def _loss_inputs(one: CoaxRun, project: Project) -> Mapping[str, Input]:
    row = one.per_100ft
    model = f"{row.source}: {row.number('k1'):g} and {row.number('k2'):g} at {one.frequency_mhz:g} MHz"
    warm = f"{fact('temperature_coefficient').source}, at {rule_origin(project, 'ambient_c')}"
    return {
        "db_per_100ft": Input(one.db_per_100ft, "dB", model),
        "length_m": _length_input(one),
        "m_per_100ft": Input(one.m_per_100ft, "m", "100 ft"),
        "factor": Input(one.factor, "", warm),
    }


def coax_alerts(coax: CoaxRuns) -> Iterable[Alert]:
    """Yield a warning for every steel-centered cable type that carries baseband video."""
    least = fact("copper_center_below")
    seen: set[str] = set()
    for one in coax.runs:
        cable, device = one.coax.cable, one.length.run.device if one.length.run else None
        video = device is not None and device.video_level_v is not None
        if not video or one.coax.center != STEEL or cable.id in seen:
            continue
        seen.add(cable.id)
        yield Alert(
            cable.source.at("center"), "steel center", cable.id,
            f"cable {cable.id} carries baseband video over a copper-clad steel center",
            "copper-clad steel", f"copper below {least.number('value'):g} MHz", least.source,
            "buy the solid copper version",
        )  # fmt: skip
