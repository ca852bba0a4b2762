"""The calculation sheets: is each battery big enough, does the last device still work."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from pathlib import Path

from estimator.documents import wording as prose
from estimator.documents.calc_battery import battery_section, installed_word
from estimator.documents.calc_circuits import circuit_lines, line_section
from estimator.documents.calc_formulas import Formulas
from estimator.documents.calc_other import fed_section, loops_section
from estimator.documents.calc_speakers import networks_section, speakers_section
from estimator.documents.common import document, origin, verdict
from estimator.documents.description import Cell, Column, Document, Fact, Facts, Paragraph, Section, SignOff, Table
from estimator.documents.job_words import cover_facts, wording_values
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.battery_alerts import battery_alerts
from estimator.takeoff.battery_figures import battery_families
from estimator.takeoff.conductors import conductor_families
from estimator.takeoff.dc_alerts import dc_alerts
from estimator.takeoff.dc_figures import dc_families
from estimator.takeoff.speaker_alerts import speaker_alerts
from estimator.takeoff.takeoff import Takeoff


def calc_sheets(takeoff: Takeoff, shown_date: date | None, wording: Path | None = None) -> Document:
    """Return the calculation sheets; ``wording`` is a company's own folder of templates.

    Raises: WordingError where one of its templates is wrong.
    """
    return document(
        takeoff.project,
        shown_date,
        title="Calculation sheets",
        subject="Standby batteries, circuit voltages, currents against ratings",
        sections=_sections(takeoff, wording),
        cover=_cover(takeoff.project),
        contents=True,
    )


def _cover(project: Project) -> tuple[Fact, ...]:
    codes = project.codes
    rows = [*cover_facts(project)]
    rows.append(Fact(label="Fire alarm code", value=f"NFPA 72-{codes.fire_alarm}, {_adopted(project, 'fire_alarm')}"))
    rows.append(Fact(label="Electrical code", value=f"NFPA 70-{codes.electrical}, {_adopted(project, 'electrical')}"))
    rows.append(Fact(label="Amendments", value=codes.amendments or "none typed"))
    if project.header.reviewed_by:
        rows.append(Fact(label="To be reviewed by", value=project.header.reviewed_by))
    return tuple(rows)


def _adopted(project: Project, key: str) -> str:
    source = project.codes.source
    return "as adopted for the site" if source.typed(key) is not None else "by default: no adopted edition was typed"


def _sections(takeoff: Takeoff, wording: Path | None) -> Iterator[Section]:
    project, power = takeoff.project, takeoff.power
    formulas = Formulas(
        (
            *battery_families(power.batteries),
            *dc_families(power.dc, project),
            *conductor_families(power.conductors),
        )
    )
    yield _summary(takeoff, formulas)
    yield from prose.sections(prose.render("calc_cautions", wording_values(project), wording), "Cautions", level=2)
    for sheet in power.batteries.sheets:
        yield battery_section(sheet, formulas, project)
    for line in circuit_lines(power.dc):
        yield line_section(line, power.dc, formulas, project)
    yield from loops_section(power.dc, project)
    yield from fed_section(power.dc)
    yield from speakers_section(power.speakers, project)
    yield from networks_section(power.speakers, project)
    yield _signatures(project)


def _summary(takeoff: Takeoff, formulas: Formulas) -> Section:
    name = takeoff.project.name
    places = (
        f"A place such as {name}.yaml:12:5 is the line and the column of the project file where a figure was typed."
    )
    blocks = (_batteries(takeoff, formulas), _circuits(takeoff), _findings(takeoff), Paragraph(places))
    return Section(title="Summary", blocks=blocks, new_page=True)


def _batteries(takeoff: Takeoff, formulas: Formulas) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (
            one.id,
            one.unit.name,
            one.standby.time_s / 3600,
            one.alarm.time_s / 60,
            one.need_ah,
            one.installed_ah,
            one.spare,
            verdict(installed_word(one, formulas)),
        )
        for one in takeoff.power.batteries.sheets
    ]
    return Table(
        name="batteries",
        title="Is each battery big enough?",
        columns=(
            Column(key="unit", head="Unit"),
            Column(key="name", head="Description"),
            Column(key="standby", head="Standby", kind="number", unit="h", decimals=1),
            Column(key="alarm", head="Alarm", kind="number", unit="min", decimals=1),
            Column(key="need", head="Need", kind="number", unit="Ah"),
            Column(key="set", head="Installed", kind="number", unit="Ah"),
            Column(key="spare", head="Spare", kind="percent", decimals=0),
            Column(key="word", head="The battery", kind="verdict"),
        ),
        rows=rows,
        empty="No control unit and no booster is in this job.",
    )


def _circuits(takeoff: Takeoff) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for line in circuit_lines(takeoff.power.dc):
        rating = line.basis.rating.value if line.basis.rating is not None else None
        assert not isinstance(rating, tuple)
        rows.append(
            (
                line.id,
                line.worst_place.name,
                line.worst_v,
                line.worst_place.minimum_v,
                line.total_a,
                rating,
                verdict(line.word),
            )
        )
    return Table(
        name="circuits",
        title="Does the last device still work?",
        columns=(
            Column(key="circuit", head="Circuit"),
            Column(key="worst", head="Worst device"),
            Column(key="volts", head="Volts there", kind="number", unit="V"),
            Column(key="least", head="Its minimum", kind="number", unit="V", decimals=1),
            Column(key="amps", head="Current", kind="number", unit="A", decimals=3),
            Column(key="rating", head="Rating", kind="number", unit="A", decimals=2),
            Column(key="word", head="The circuit", kind="verdict"),
        ),
        rows=rows,
        empty="No notification circuit and no DC branch is in this job.",
    )


def _findings(takeoff: Takeoff) -> Table:
    project, power = takeoff.project, takeoff.power
    found: set[Alert] = {
        *battery_alerts(power.batteries, project),
        *dc_alerts(power.dc, project),
        *speaker_alerts(power.speakers, project),
    }
    return Table(
        name="findings",
        title="What does not hold, or could not be worked out",
        columns=(
            Column(key="kind", head="Finding"),
            Column(key="text", head="What"),
            Column(key="value", head="Value"),
            Column(key="limit", head="Limit"),
            Column(key="source", head="Limit set by"),
        ),
        rows=[(one.kind, one.text, one.value, one.limit, origin(one.source, project)) for one in sorted(found)],
        empty="Nothing was found. What has no typed rating or limit was not judged; its sheet says so.",
    )


def _signatures(project: Project) -> Section:
    header = project.header
    facts = Facts(title="", rows=(Fact(label="Revision", value=header.revision or "none typed"),))
    roles = tuple(
        f"{role} {name}".strip()
        for role, name in (("Prepared by", header.prepared_by), ("Reviewed by", header.reviewed_by))
    )
    return Section(title="Prepared and reviewed", blocks=(facts, SignOff(roles)))
