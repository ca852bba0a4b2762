"""The sheet about copper links, coaxial runs and telephone lines: what shortens them, what a meter will show."""

from __future__ import annotations

from collections import Counter

from estimator.calc.coax import LINE_LOSS, MOST_LOOP
from estimator.calc.copper_link import WARM_LENGTH
from estimator.calc.voice_line import LOOP_CURRENT, SET_VOLTS
from estimator.documents.common import in_length, length_column, number_column, rule_from
from estimator.documents.description import Cell, Column, Paragraph, Section, Table
from estimator.documents.estimate_circuits import resistance_unit
from estimator.reference.lookup import table
from estimator.spec.model import Project
from estimator.takeoff.coax_runs import CoaxRun, CoaxRuns, fact
from estimator.takeoff.link_lengths import LinkLengths
from estimator.takeoff.takeoff import Takeoff
from estimator.takeoff.voice_lines import WHOLE_LOOP, VoiceLines, VoiceRun
from estimator.takeoff.voice_lines import fact as voice_fact


def lines_sheet(takeoff: Takeoff) -> Section:
    """Return copper links by cable type, every coaxial run and every telephone line."""
    project = takeoff.project
    text = (
        f"A warm cable loses more, so that its longest link is shorter: {rule_from(project, 'ambient_c')}, with "
        f"{rule_from(project, 'bundle_rise_c')}. Cords beyond the usual ones take more from the cable than they are "
        f"long: {rule_from(project, 'poe_cords_m')}. The design limit stands beside both and is judged by itself."
    )
    blocks: list[Paragraph | Table] = [Paragraph(text), _links(takeoff.links, project)]
    if takeoff.coax.runs:
        blocks.append(_coax(takeoff.coax, project))
    if takeoff.voice.lines:
        blocks.append(_ringers(takeoff.voice))
    if any(run.loop_ohm is not None for run in takeoff.voice.runs):
        blocks.append(_voice(takeoff.voice))
    return Section(title="Links and lines", blocks=tuple(blocks), landscape=True)


def _links(links: LinkLengths, project: Project) -> Table:
    counts = Counter(length.cable.id for length in links.links)
    longest = {name: max(one.expected_m for one in links.links if one.cable.id == name) for name in counts}
    design_m = table("link_lengths").find(link="permanent_link").number("design_m")
    rows: list[tuple[Cell, ...]] = [
        (
            one.id,
            one.cable.category,
            one.rates.text("cable"),
            counts[one.id],
            in_length(longest[one.id], project),
            in_length(design_m, project),
            one.temperature_c,
            one.factor,
            in_length(one.most_m, project),
            in_length(links.cords_most_m, project),
        )
        for one in links.warm.values()
    ]
    return Table(
        name="link_lengths",
        title="Copper links by cable type",
        columns=(
            Column(key="cable", head="Cable"),
            Column(key="category", head="Category"),
            Column(key="screen", head="Screen"),
            Column(key="links", head="Links", kind="whole"),
            length_column(project, "longest", "Longest expected"),
            length_column(project, "length_m", "Link of the standard"),
            number_column("temperature", "Temperature", "C", decimals=0),
            number_column("factor", "Loss in the heat", "x", decimals=3),
            length_column(project, "warm", "Longest in the heat", formula=WARM_LENGTH),
            length_column(project, "cords", "Longest beside its cords"),
        ),
        rows=rows,
        empty="No copper link is in this job.",
    )


def _coax(coax: CoaxRuns, project: Project) -> Table:
    unit, si = resistance_unit(project)
    return Table(
        name="coax_runs",
        title="Coaxial runs",
        columns=(
            Column(key="circuit", head="Circuit"),
            Column(key="cable", head="Cable"),
            Column(key="center", head="Center"),
            length_column(project, "length_m", "Length"),
            number_column("most_ohm_per_m", "Center and shield, at most", unit, si=si),
            number_column("tolerance", "Tolerance", "of it"),
            number_column("leads_ohm", "Leads", "ohm"),
            number_column("most", "Largest loop", "ohm", formula=MOST_LOOP),
            number_column("mhz", "Frequency", "MHz"),
            number_column("db_per_100ft", "Cable", "dB per 100 ft", decimals=3),
            length_column(project, "m_per_100ft", "for a length of"),
            number_column("factor", "Loss in the heat", "x", decimals=3),
            number_column("loss", "Loss of the line", "dB", formula=LINE_LOSS),
        ),
        rows=[_coax_row(one, project) for one in coax.runs],
    )


def _coax_row(one: CoaxRun, project: Project) -> tuple[Cell, ...]:
    return (
        one.id,
        one.coax.id,
        one.coax.center.replace("_", " ") or "not typed, taken as steel",
        in_length(one.length.expected_m, project),
        one.coax.most_ohm_per_m / resistance_unit(project)[1],
        project.rules.loop_tolerance,
        fact("meter_leads").number("value"),
        one.most_loop_ohm,
        one.frequency_mhz,
        one.db_per_100ft,
        in_length(one.m_per_100ft, project),
        one.factor,
        one.loss_db,
    )


def _ringers(voice: VoiceLines) -> Table:
    row = voice_fact("ringer_total_most")
    return Table(
        name="ringers",
        title="Ringers by telephone line",
        columns=(
            Column(key="line", head="Line"),
            Column(key="sets", head="Sets", kind="whole"),
            number_column("total", "Ringers", "REN"),
            number_column("most", "At most", "REN"),
            Column(key="source", head="Source"),
        ),
        rows=[(one.id, len(one.ringers), one.total, row.number("value"), row.source) for one in voice.lines],
    )


def _voice(voice: VoiceLines) -> Table:
    return Table(
        name="voice_runs",
        title="Telephone lines off hook",
        columns=(
            Column(key="circuit", head="Circuit"),
            Column(key="line", head="Line"),
            number_column("line_ohm", "Line up to the room", "ohm", decimals=0),
            number_column("cable_ohm", "Own cable", "ohm"),
            number_column("loop_ohm", "Whole loop", "ohm", decimals=0, formula=WHOLE_LOOP),
            number_column("battery_v", "Office battery", "V"),
            number_column("feed_ohm", "Feed", "ohm", decimals=0),
            number_column("set_ohm", "Set", "ohm", decimals=0),
            number_column("current", "Current", "mA", decimals=1, si=0.001, formula=LOOP_CURRENT),
            number_column("volts", "At the set", "V", formula=SET_VOLTS),
        ),
        rows=[_voice_row(one) for one in voice.runs if one.loop_ohm is not None],
    )


def _voice_row(one: VoiceRun) -> tuple[Cell, ...]:
    office = (voice_fact(name).number("value") for name in ("on_hook", "feed_resistance", "set_resistance"))
    current_ma = None if one.current_a is None else 1000 * one.current_a
    return one.id, one.line, one.line_ohm, one.cable_ohm, one.loop_ohm, *office, current_ma, one.volts_v
