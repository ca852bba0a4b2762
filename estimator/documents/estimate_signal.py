"""The sheet about fiber: every link with what its components allow and what its application bears."""

from __future__ import annotations

from estimator.calc.fiber import COMPONENT_LIMIT, COUNTED_PAIRS
from estimator.documents.common import in_length, length_column, number_column
from estimator.documents.description import Cell, Column, Formula, Paragraph, Section, Table
from estimator.spec.model import Project
from estimator.takeoff.fiber_figures import GOVERNED
from estimator.takeoff.fiber_links import FiberLink, FiberLinks, Wave, component


def fiber_section(fiber: FiberLinks, project: Project) -> Section:
    """Return every fiber link at each wavelength: what components allow, what the application bears."""
    text = (
        "Limits stand side by side: what the components allow, what the application bears over the channel, and the "
        "power budget of equipment where it is typed. The tightest governs. Mated pairs count as the reference method "
        "of the test sees them."
    )
    return Section(title="Fiber", blocks=(Paragraph(text), _links(fiber, project)), landscape=True)


def _links(fiber: FiberLinks, project: Project) -> Table:
    return Table(
        name="fiber",
        title="Fiber links",
        columns=(
            Column(key="link", head="Link"),
            Column(key="class", head="Fiber"),
            Column(key="method", head="Reference"),
            length_column(project, "length_m", "Length"),
            number_column("nm", "Wavelength", "nm", decimals=0),
            number_column("db_per_km", "Fiber", "dB/km"),
            Column(key="inside_pairs", head="Pairs between", kind="whole"),
            Column(key="ends_counted", head="Ends counted", kind="whole"),
            Column(key="pairs", head="Mated pairs", kind="whole", formula=COUNTED_PAIRS),
            number_column("pair_db", "Each pair", "dB"),
            Column(key="splices", head="Splices", kind="whole"),
            number_column("splice_db", "Each splice", "dB"),
            number_column("component_db", "Components", "dB", formula=COMPONENT_LIMIT),
            Column(key="application", head="Application"),
            length_column(project, "reach", "It reaches"),
            number_column("application_db", "Application allows", "dB"),
            number_column("equipment_db", "Equipment bears", "dB", computed=True),
            number_column("limit_db", "Limit", "dB"),
            Column(key="by", head="Governed by"),
        ),
        rows=[_wave(link, wave, project) for link in fiber.links for wave in link.waves],
        empty="No fiber is in this job.",
    )


def _wave(link: FiberLink, wave: Wave, project: Project) -> tuple[Cell, ...]:
    pair, splice = (component(name).number("most_db") for name in ("connector_pair", "splice"))
    row = wave.application
    bears = None if row is None else row.number("loss_db")
    limit = Formula(GOVERNED[row is not None, wave.equipment_db is not None], wave.governing.limit_db)
    reach = None if link.reach_m is None else in_length(link.reach_m, project)
    return (
        link.id,
        link.fiber_class,
        link.made.reference.replace("_", " "),
        in_length(link.length.expected_m, project),
        wave.nm,
        wave.rate.number("db_per_km"),
        link.inside_pairs,
        link.ends_counted,
        link.pairs,
        pair,
        link.made.splices,
        splice,
        wave.component_db,
        link.made.application or "none named",
        reach,
        bears,
        wave.equipment_db,
        limit,
        wave.governing.by,
    )
