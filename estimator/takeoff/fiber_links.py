"""Fiber backbone: what its components allow, what its application bears, and which of them governs."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.fiber import (
    APPLICATION,
    COMPONENT_LIMIT,
    COUNTED_PAIRS,
    Governing,
    component_limit_db,
    counted_pairs,
    governing,
)
from estimator.calc.formula import Expression
from estimator.reference.lookup import Row, table
from estimator.spec.cabling import Backbone
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.columns import column, filled
from estimator.takeoff.footage import Footage, Length, shown_length
from estimator.takeoff.worked import Family, Input
from estimator.units.rounding import over

BUDGET: Final = Expression("budget_db")
"""Channel loss that an application bears, as tabled [dB]."""

TIGHTER: Final = Expression("min(component_db, application_db)")
"""The limit that governs: the tighter of components and application [dB]."""

COMPONENTS_ALONE: Final = Expression("component_db")
"""The limit that governs where no application is named at the wavelength [dB]."""

CABLED: Final[Mapping[str, str]] = {"OS1a": "single_mode_indoor", "OS2": "single_mode_outside_plant"}
"""Row of the attenuation table for a class of single-mode fiber."""

ENDS: Final = 2

PREFERRED: Final = "one_cord"
"""Reference method of a drop, which has no key for it: the one that the standard prefers."""


@dataclass(frozen=True, kw_only=True, slots=True)
class Wave:
    """One wavelength of a link: attenuation, component limit, application budget, which governs."""

    nm: int
    rate: Row
    component_db: float
    application: Row | None
    governing: Governing


@dataclass(frozen=True, kw_only=True, slots=True)
class Strand:
    """What every strand of a fiber cable has alike: its reference method, mated pairs, splices and limits."""

    reference: str
    splices: int
    inside_pairs: int
    ends_counted: int
    pairs: int
    waves: tuple[Wave, ...]
    applications: tuple[Row, ...]


@dataclass(frozen=True, kw_only=True, slots=True)
class FiberLink:
    """One fiber backbone cable; every strand has the same splices and mated pairs."""

    backbone: Backbone
    length: Length
    fiber_class: str
    inside_pairs: int
    ends_counted: int
    pairs: int
    waves: tuple[Wave, ...]
    applications: tuple[Row, ...]

    @property
    def id(self) -> str:
        """Return the cable's name."""
        return self.backbone.id

    @property
    def reach_m(self) -> float | None:
        """Return how far its application is tabled to reach [m]."""
        return min((row.number("reach_m") for row in self.applications), default=None)


@dataclass(frozen=True, kw_only=True, slots=True)
class FiberLinks:
    """All fiber backbone of the job."""

    links: tuple[FiberLink, ...]


def work_out_fiber(project: Project, footage: Footage) -> FiberLinks:
    """Return every fiber backbone cable with its limits at each test wavelength."""
    return FiberLinks(
        links=tuple(
            _link(length.backbone, length, project)
            for length in footage.lengths
            if length.backbone is not None and length.cable.medium == "fiber"
        )
    )


def _link(backbone: Backbone, length: Length, project: Project) -> FiberLink:
    strand = strand_of(length, project)
    return FiberLink(backbone=backbone, length=length, fiber_class=length.cable.fiber_class or "",
                     inside_pairs=strand.inside_pairs, ends_counted=strand.ends_counted, pairs=strand.pairs,
                     waves=strand.waves, applications=strand.applications)  # fmt: skip


def strand_of(length: Length, project: Project) -> Strand:
    """Return what a strand of a fiber cable is judged by; on a drop it has a mated pair at each end."""
    backbone, fiber_class = length.backbone, length.cable.fiber_class or ""
    connections, splices = (backbone.connections, backbone.splices) if backbone else (ENDS, 0)
    reference = (backbone.reference if backbone else None) or PREFERRED
    mode = "single_mode" if fiber_class.startswith("OS") else "multimode"
    method = table("fiber_reference_methods").find(method=reference)
    ends = min(int(method.number("ends_counted")), ENDS, connections)
    inside = max(0, connections - ENDS)
    pairs = counted_pairs(inside_pairs=inside, ends_counted=ends)
    wavelengths = table("fiber_test_wavelengths").find(mode=mode).numbers("wavelengths_nm")
    applications = tuple(_applications(backbone.application if backbone else None, fiber_class, mode))
    waves = tuple(_wave(int(nm), splices, length, pairs, project, wavelengths, applications) for nm in wavelengths)
    return Strand(reference=reference, splices=splices, inside_pairs=inside, ends_counted=ends, pairs=pairs,
                  waves=waves, applications=applications)  # fmt: skip


def _applications(name: str | None, fiber_class: str, mode: str) -> Sequence[Row]:
    """Return the rows of an application on a class of fiber, or on its core or mode where no class is tabled."""
    core = "62.5 um" if fiber_class == "OM1" else "50 um"
    rows = [row for row in table("fiber_applications") if name and row.text("application").lower() == name.lower()]
    for wanted in (fiber_class, mode, core if mode == "multimode" else mode):
        found = [row for row in rows if row.text("fiber") == wanted]
        if found:
            return found
    return []


def rate_row(fiber_class: str, nm: int, edition: str) -> Row:
    """Return the attenuation of a class at a wavelength: of the adopted edition, else of any."""
    rows, fiber = table("fiber_attenuation"), CABLED.get(fiber_class, fiber_class)
    if rows.has(edition=edition, fiber=fiber, wavelength_nm=nm):
        return rows.find(edition=edition, fiber=fiber, wavelength_nm=nm)
    return rows.find(fiber=fiber, wavelength_nm=nm)


def _component(name: str) -> Row:
    return table("fiber_component_limits").find(component=name)


def _wave(
    nm: int, splices: int, length: Length, pairs: int, project: Project,
    wavelengths: tuple[float, ...], applications: tuple[Row, ...],
) -> Wave:  # fmt: skip
    rate = rate_row(length.cable.fiber_class or "", nm, project.codes.fiber)
    limit = component_limit_db(
        length_m=length.expected_m,
        db_per_km=rate.number("db_per_km"),
        pairs=pairs,
        pair_db=_component("connector_pair").number("most_db"),
        splices=splices,
        splice_db=_component("splice").number("most_db"),
    )
    here = [row for row in applications if _nearest(row.number("wavelength_nm"), wavelengths) == nm]
    application = min(here, key=lambda row: row.number("loss_db"), default=None)
    budget = application.number("loss_db") if application else None
    return Wave(nm=nm, rate=rate, component_db=limit, application=application,
                governing=governing(component_db=limit, application_db=budget))  # fmt: skip


def _nearest(nm: float, wavelengths: tuple[float, ...]) -> float:
    """Return the test wavelength next to an application's own: 1310 nm over multimode is tested at 1300."""
    return min(wavelengths, key=lambda one: abs(one - nm))


@dataclass(frozen=True, slots=True)
class _At:
    """A link at one wavelength."""

    link: FiberLink
    wave: Wave

    @property
    def id(self) -> str:
        """Return the link's name."""
        return self.link.id


def fiber_families(fiber: FiberLinks) -> Iterable[Family]:
    """Yield counted pairs, and at each wavelength the limits and the one that governs."""
    yield from filled(
        (
            column(("fiber", "mated_pairs", "mated pairs that the measurement counts", "pairs"), COUNTED_PAIRS,
                   "ANSI/TIA-568.3-D, reference methods", fiber.links, lambda one: float(one.pairs), _pair_inputs),
        )
    )  # fmt: skip
    wavelengths = sorted({wave.nm for link in fiber.links for wave in link.waves})
    for nm in wavelengths:
        at = [_At(link, wave) for link in fiber.links for wave in link.waves if wave.nm == nm]
        budgeted = [one for one in at if one.wave.application is not None]
        alone = [one for one in at if one.wave.application is None]
        yield from filled(
            (
                column(("fiber", f"component_limit_{nm}", f"loss its components allow at {nm} nm", "dB"),
                       COMPONENT_LIMIT, "ANSI/TIA-568 link attenuation", at, lambda one: one.wave.component_db,
                       _component_inputs),
                column(("fiber", f"application_budget_{nm}", f"loss its application bears at {nm} nm", "dB"), BUDGET,
                       "IEEE 802.3, channel insertion loss", budgeted, _budget_of,
                       lambda one: {"budget_db": _budget(one)}),
                column(("fiber", f"limit_{nm}", f"limit that governs at {nm} nm", "dB"), TIGHTER,
                       "the tighter of both", budgeted, lambda one: one.wave.governing.limit_db, _tighter_inputs),
                column(("fiber", f"limit_{nm}", f"limit that governs at {nm} nm", "dB"), COMPONENTS_ALONE,
                       "no application at this wavelength", alone, lambda one: one.wave.governing.limit_db,
                       lambda one: {"component_db": _limit(one)}),
            )
        )  # fmt: skip


def _pair_inputs(one: FiberLink) -> Mapping[str, Input]:
    place = one.backbone.source
    return {
        "inside_pairs": Input(float(one.inside_pairs), "pairs", f"between the ends, {place.at('connections')}"),
        "ends_counted": Input(float(one.ends_counted), "pairs", f"{one.backbone.reference}, {place.at('reference')}"),
    }


def _component_inputs(one: _At) -> Mapping[str, Input]:
    pair, splice, backbone = _component("connector_pair"), _component("splice"), one.link.backbone
    rate = f"{one.link.fiber_class}: {one.wave.rate.source}"
    return {
        "length_m": Input(one.link.length.expected_m, "m", f"backbone.{one.id}.expected_length"),
        "db_per_km": Input(one.wave.rate.number("db_per_km"), "dB/km", rate),
        "pairs": Input(float(one.link.pairs), "pairs", f"fiber.{one.id}.mated_pairs"),
        "pair_db": Input(pair.number("most_db"), "dB", pair.source),
        "splices": Input(float(backbone.splices), "splices", f"cable, {backbone.source.at('splices')}"),
        "splice_db": Input(splice.number("most_db"), "dB", splice.source),
    }


def _budget_of(one: _At) -> float | None:
    return None if one.wave.application is None else one.wave.application.number("loss_db")


def _budget(one: _At) -> Input:
    row = one.wave.application
    assert row is not None
    return Input(row.number("loss_db"), "dB", f"{row.text('application')} over {row.text('fiber')}: {row.source}")


def _limit(one: _At) -> Input:
    return Input(one.wave.component_db, "dB", f"fiber.{one.id}.component_limit_{one.wave.nm}")


def _tighter_inputs(one: _At) -> Mapping[str, Input]:
    return {"component_db": _limit(one), "application_db": _budget(one)}


def fiber_alerts(fiber: FiberLinks, project: Project) -> Iterable[Alert]:
    """Yield links too long or too lossy for their application, and applications that no row tells of."""
    for link in fiber.links:
        name = link.backbone.application
        if name is not None and not link.applications:
            known = sorted({row.text("application") for row in table("fiber_applications")})
            yield Alert(
                link.backbone.source.at("application"), "application not tabled", link.id,
                f"{link.id}: nothing is tabled for {name} over {link.fiber_class}", name, ", ".join(known),
                table("fiber_applications").source, "mend the name, or judge by the components alone",
            )  # fmt: skip
        reach = link.reach_m
        if reach is not None and over(link.length.expected_m, reach):
            yield Alert(
                link.length.place, "beyond the reach", link.id, f"{link.id} is longer than {name} reaches",
                shown_length(link.length.expected_m, project), shown_length(reach, project),
                link.applications[0].source, "use a better class of fiber or another application",
            )  # fmt: skip
        for wave in link.waves:
            if wave.governing.by == APPLICATION and wave.application is not None:
                yield Alert(
                    link.length.place, "loss over the budget", link.id,
                    f"{link.id} may lose more at {wave.nm} nm than {name} bears", f"{wave.component_db:.2f} dB",
                    f"{wave.application.number('loss_db'):g} dB", wave.application.source,
                    "fewer mated pairs or splices, or accept against the budget",
                )  # fmt: skip
