"""Fiber links, backbone and drops: what the components allow, what application and equipment bear, which governs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Final

from estimator.calc.fiber import (
    APPLICATION,
    Governing,
    component_limit_db,
    counted_pairs,
    governing,
    power_budget_db,
    set_aside_db,
)
from estimator.calc.formula import Expression
from estimator.reference.lookup import Row, table
from estimator.spec.cabling import Backbone, Drop, OpticalEquipment
from estimator.spec.faults import Place
from estimator.spec.model import Cable, Project
from estimator.takeoff.footage import Footage, Length

TIGHTER: Final = Expression("min(component_db, application_db)")
"""The limit that governs: the tighter of components and application [dB]."""

COMPONENTS_ALONE: Final = Expression("component_db")
"""The limit that governs where nothing else is named at the wavelength [dB]."""

EQUIPPED: Final = Expression("min(component_db, equipment_db)")
"""The limit that governs: the tighter of components and the equipment's power budget [dB]."""

TIGHTEST: Final = Expression("min(component_db, application_db, equipment_db)")
"""The limit that governs: the tightest of components, application and power budget [dB]."""

EQUIPMENT: Final = "equipment"
"""What governs where the equipment's power budget is the tightest."""

CABLED: Final[Mapping[str, str]] = {"OS1a": "single_mode_indoor", "OS2": "single_mode_outside_plant"}
"""Row of the attenuation table for a class of single-mode fiber."""

PLANTS: Final[Mapping[str, str]] = {
    "indoor": "single_mode_indoor",
    "indoor_outdoor": "single_mode_indoor_outdoor",
    "outside": "single_mode_outside_plant",
}
"""Row of the attenuation table for the plant that a single-mode cable is made for."""

ENDS: Final = 2

PREFERRED: Final = "one_cord"
"""The reference method that the standard prefers; a project without faults types its own."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Made:
    """How a fiber circuit is made and tested: as it is typed, with where each was typed."""

    connections: int
    splices: int
    reference: str
    application: str | None
    equipment: OpticalEquipment | None
    connections_at: str
    splices_at: str
    reference_at: str
    application_place: Place


@dataclass(frozen=True, kw_only=True, slots=True)
class Wave:
    """One wavelength of a link: attenuation, component limit, what application and equipment bear, which governs."""

    nm: int
    rate: Row
    component_db: float
    application: Row | None
    equipment_db: float | None
    governing: Governing


@dataclass(frozen=True, kw_only=True, slots=True)
class FiberLink:
    """One fiber cable between its two ends; every strand of it has the same splices and mated pairs."""

    length: Length
    made: Made
    fiber_class: str
    inside_pairs: int
    ends_counted: int
    pairs: int
    waves: tuple[Wave, ...]
    applications: tuple[Row, ...]
    grade: Row | None  # of a multimode fiber: its modal bandwidth

    @property
    def id(self) -> str:
        """Return the circuit's name."""
        return self.length.id

    @property
    def reach_m(self) -> float | None:
        """Return how far its application is tabled to reach [m]."""
        return min((row.number("reach_m") for row in self.applications), default=None)

    @property
    def modal_mhz_km(self) -> float | None:
        """Return the modal bandwidth of its fiber at 850 nm [MHz km]: typed, or its class's."""
        typed = self.length.cable.typed
        own = typed.modal_mhz_km if typed else None
        return own if own is not None else (self.grade.number("at_850") if self.grade else None)


@dataclass(frozen=True, kw_only=True, slots=True)
class FiberLinks:
    """All fiber of the job, backbone cables and drops."""

    links: tuple[FiberLink, ...]


def work_out_fiber(project: Project, footage: Footage) -> FiberLinks:
    """Return every fiber link with its limits at each wavelength of the test."""
    lengths = (length for length in footage.lengths if length.cable.medium == "fiber" and length.circuit is None)
    return FiberLinks(links=tuple(fiber_link(length, project) for length in lengths))


def fiber_link(length: Length, project: Project) -> FiberLink:
    """Return one fiber link: what its test counts, and its limits at each wavelength."""
    made, cable = made_of(length), length.cable
    fiber_class = cable.fiber_class or ""
    mode = "single_mode" if fiber_class.startswith("OS") else "multimode"
    method = table("fiber_reference_methods").find(method=made.reference)
    ends = min(int(method.number("ends_counted")), ENDS, made.connections)
    inside = max(0, made.connections - ENDS)
    pairs = counted_pairs(inside_pairs=inside, ends_counted=ends)
    wavelengths = table("fiber_test_wavelengths").find(mode=mode).numbers("wavelengths_nm")
    grade = grade_of(fiber_class, cable.typed.modal_mhz_km if cable.typed else None)
    applications = _applications(made.application, fiber_class, mode, grade.text("fiber") if grade else "")
    at = [_wave(int(nm), length, made, pairs, project, wavelengths, applications) for nm in wavelengths]
    return FiberLink(
        length=length,
        made=made,
        fiber_class=fiber_class,
        inside_pairs=inside,
        ends_counted=ends,
        pairs=pairs,
        waves=tuple(at),
        applications=applications,
        grade=grade,
    )


def made_of(length: Length) -> Made:
    """Return how a fiber circuit is made: a backbone cable as it says itself, a drop with its device's application."""
    application, equipment, said_at = None, None, length.source
    typed: Backbone | Drop | None = length.backbone or (length.run.drop if length.run else None)
    if length.backbone is not None:
        application, equipment = length.backbone.application, length.backbone.equipment
    elif length.run is not None and length.run.device is not None:
        application, said_at = length.run.device.application, length.run.device.source
    reference, reference_at = typed.reference if typed else None, length.source.at("reference")
    if reference is None and length.cable.typed is not None and length.cable.typed.reference is not None:
        reference, reference_at = length.cable.typed.reference, length.cable.typed.source.at("reference")
    return Made(
        connections=typed.connections if typed else ENDS,
        splices=typed.splices if typed else 0,
        reference=reference or PREFERRED,
        application=application,
        equipment=equipment,
        connections_at=str(length.source.at("connections")),
        splices_at=str(length.source.at("splices")),
        reference_at=str(reference_at),
        application_place=said_at.at("application"),
    )


@cache
def grade_of(fiber_class: str, mhz_km: float | None) -> Row | None:
    """Return the grade of a multimode fiber, which decides how far applications reach; None for single mode.

    A typed modal bandwidth [MHz km] picks the best grade of the same core that isn't above it or the class.
    """
    rows = table("fiber_modal_bandwidth")
    if not rows.has(fiber=fiber_class):
        return None
    own = rows.find(fiber=fiber_class)
    if mhz_km is None:
        return own
    most = min(mhz_km, own.number("at_850"))
    same = [row for row in rows if row.number("core_um") == own.number("core_um") and row.number("at_850") <= most]
    best = max(same, key=lambda row: row.number("at_850"), default=None)
    return own if best is not None and best.number("at_850") == own.number("at_850") else best


@cache
def _applications(name: str | None, fiber_class: str, mode: str, grade: str) -> tuple[Row, ...]:
    """Return the rows of an application on a grade of fiber, or on its core or mode where no grade is tabled."""
    core = "62.5 um" if fiber_class == "OM1" else "50 um"
    rows = [row for row in table("fiber_applications") if name and row.text("application").lower() == name.lower()]
    for wanted in (grade, mode, core if mode == "multimode" else mode):
        found = tuple(row for row in rows if row.text("fiber") == wanted)
        if found:
            return found
    return ()


def rate_row(cable: Cable, nm: int, edition: str) -> Row:
    """Return the attenuation of a cable at a wavelength: of the adopted edition, else of any."""
    plant = cable.typed.plant if cable.typed else None
    fiber_class = cable.fiber_class or ""
    single = plant is not None and fiber_class.startswith("OS")
    return _rate(PLANTS[plant] if single and plant else CABLED.get(fiber_class, fiber_class), nm, edition)


@cache
def _rate(fiber: str, nm: int, edition: str) -> Row:
    rows = table("fiber_attenuation")
    if rows.has(edition=edition, fiber=fiber, wavelength_nm=nm):
        return rows.find(edition=edition, fiber=fiber, wavelength_nm=nm)
    return rows.find(fiber=fiber, wavelength_nm=nm)


@cache
def component(name: str) -> Row:
    """Return the limit of one component of a link."""
    return table("fiber_component_limits").find(component=name)


def set_aside_of(equipment: OpticalEquipment) -> float:
    """Return what is kept in hand of an equipment's power budget [dB]."""
    return set_aside_db(
        margin_db=equipment.margin_db,
        penalty_db=equipment.penalty_db,
        repair_splices=equipment.repair_splices,
        splice_db=component("splice").number("most_db"),
    )


def power_budget_of(equipment: OpticalEquipment) -> float:
    """Return the loss that transmitter and receiver bear [dB], less what is kept in hand."""
    return power_budget_db(
        transmit_dbm=equipment.transmit_dbm,
        receive_dbm=equipment.receive_dbm,
        set_aside_db=set_aside_of(equipment),
    )


def _wave(
    nm: int, length: Length, made: Made, pairs: int, project: Project,
    wavelengths: tuple[float, ...], applications: tuple[Row, ...],
) -> Wave:  # fmt: skip
    rate = rate_row(length.cable, nm, project.codes.fiber)
    limit = component_limit_db(
        length_m=length.expected_m,
        db_per_km=rate.number("db_per_km"),
        pairs=pairs,
        pair_db=component("connector_pair").number("most_db"),
        splices=made.splices,
        splice_db=component("splice").number("most_db"),
    )
    here = [row for row in applications if _nearest(row.number("wavelength_nm"), wavelengths) == nm]
    application = min(here, key=lambda row: row.number("loss_db"), default=None)
    equipment = made.equipment
    if equipment is not None and equipment.wavelength_nm and _nearest(equipment.wavelength_nm, wavelengths) != nm:
        equipment = None
    bears = None if equipment is None else power_budget_of(equipment)
    return Wave(
        nm=nm,
        rate=rate,
        component_db=limit,
        application=application,
        equipment_db=bears,
        governing=_governing(limit, application, bears),
    )


def _governing(component_db: float, application: Row | None, equipment_db: float | None) -> Governing:
    """Return the tightest of the three; equals go to the one named first."""
    first = governing(component_db=component_db, application_db=application.number("loss_db") if application else None)
    both = governing(component_db=first.limit_db, application_db=equipment_db)
    return Governing(limit_db=both.limit_db, by=EQUIPMENT) if both.by == APPLICATION else first


def _nearest(nm: float, wavelengths: Iterable[float]) -> float:
    """Return the test wavelength next to an application's own: 1310 nm over multimode is tested at 1300."""
    return min(wavelengths, key=lambda one: abs(one - nm))
