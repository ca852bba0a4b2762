"""The test plan: what the crew brings, what is good, and what it does when it isn't."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import date
from pathlib import Path
from typing import Final

from estimator.acceptance.columns import MEDIA
from estimator.acceptance.criterion import Criteria
from estimator.acceptance.instruments import past_due
from estimator.documents import common
from estimator.documents import wording as prose
from estimator.documents.crew_circuits import circuit_sections, limits_sections
from estimator.documents.crew_frequency import frequency_sections
from estimator.documents.crew_pins import jack_sections
from estimator.documents.crew_poe import pins_section
from estimator.documents.description import (
    Cell,
    Column,
    Document,
    Fact,
    Paragraph,
    Section,
    SignOff,
    Table,
    Verdict,
)
from estimator.documents.job_words import MEDIA_WORDS, counted, cover_facts, lowered, sentence, wording_values, words_of
from estimator.spec.model import Project
from estimator.spec.quality import Instrument, Waiver
from estimator.takeoff.takeoff import Takeoff

_PROCEDURES: Final = {
    "balanced_pair": "balanced_pair",
    "coax": "coax",
    "conductors": "two_conductor",
    "voice": "voice_line",
    "speaker": "speaker",
    "battery": "battery",
    "fiber": "fiber",
    "bonding": "bonding",
}
_TRIGGERS: Final = {
    "test_all": "one failed circuit: every circuit of this cable type is tested",
    "double": "one failed circuit: the sample is doubled, then everything",
}
_EQUIPMENT: Final = {
    "balanced_pair": "remote unit and its adapters, a charged spare battery",
    "coax": "shorting and terminating plugs, adapters for the connectors of the job",
    "conductors": "jumper to join the far end, the end-of-line devices, lockout and tags",
    "voice": "test telephone, clip leads",
    "speaker": "impedance meter with its test frequency, polarity tester",
    "battery": "load of the stated current, thermometer, eye protection, insulated tools",
    "fiber": "scope with filter, cleaning kit, reference cords of the strand's class, launch cords",
    "bonding": "long test lead, a wire brush, the drawing of the bonding conductors",
}


def test_plan(
    takeoff: Takeoff,
    circuits: Sequence[Criteria],
    shown_date: date | None,
    wording: Path | None = None,  # noqa: PT028 - a plan of tests, not a test
) -> Document:
    """Return the crew's plan; ``wording`` holds a company's own templates."""
    project = takeoff.project
    used = [medium for medium in MEDIA if any(one.medium == medium for one in circuits)]
    values = wording_values(project)
    sections = [
        _bring(project, used, circuits, common.date_of(project, shown_date)),
        _settings(circuits),
        *_worded("testplan_safety", "Safety and notices", values, wording),
        _sample(project, circuits),
        *_procedures(used, values, wording),
        *pins_section(takeoff.power.poe),
        *limits_sections(circuits),
        *frequency_sections(takeoff, circuits),
        *jack_sections(circuits),
        *circuit_sections(project, circuits),
        *_worded("testplan_stop", "When to stop and call", values, wording),
        Section(title="Read and understood", blocks=(SignOff(("Crew lead", "Technician", "Technician")),)),
    ]
    return common.document(
        project,
        shown_date,
        title="Test plan",
        subject="What is tested, with what, and what is good",
        sections=sections,
        cover=_cover(project, circuits, used),
        contents=True,
    )


test_plan.__test__ = False  # type: ignore[attr-defined]  # else pytest takes it for one


def _cover(project: Project, circuits: Sequence[Criteria], used: Sequence[str]) -> tuple[Fact, ...]:
    by_medium = Counter(one.medium for one in circuits)
    listed = ", ".join(f"{by_medium[medium]:,} {lowered(MEDIA_WORDS[medium])}" for medium in used)
    codes = project.codes
    acceptance = project.acceptance
    facts = (
        *cover_facts(project),
        Fact(label="Circuits", value=f"{len(circuits):,}: {listed}" if circuits else "none"),
        Fact(label="Copper limits", value=f"ANSI/TIA-{codes.cabling}"),
        Fact(label="Fiber limits", value=f"ANSI/TIA-{codes.fiber}"),
        Fact(label="Fire alarm", value=f"NFPA 72-{codes.fire_alarm}"),
        Fact(label="Tested by", value=acceptance.tested_by),
        Fact(label="Witnessed by", value=acceptance.witnessed_by),
    )
    return tuple(fact for fact in facts if fact.value)


def _worded(name: str, title: str, values: dict[str, object], folder: Path | None) -> tuple[Section, ...]:
    return prose.sections(prose.render(name, values, folder), title)


def _procedures(used: Sequence[str], values: dict[str, object], folder: Path | None) -> Iterable[Section]:
    yield Section(title="Procedures", blocks=(Paragraph("Each medium of this job has its own steps, in this order."),))
    for medium in used:
        paragraphs = prose.render(f"testplan_procedure_{_PROCEDURES[medium]}", values, folder)
        yield from prose.sections(paragraphs, MEDIA_WORDS[medium], level=2)


def _bring(project: Project, used: Sequence[str], circuits: Sequence[Criteria], today: date | None) -> Section:
    instruments = project.acceptance.instruments
    named = {medium for one in instruments for medium in one.media}
    without = [lowered(MEDIA_WORDS[medium]) for medium in used if medium not in named]
    rows = [_instrument_row(one, today) for one in instruments]
    columns = (
        Column(key="id", head="Instrument"),
        Column(key="kind", head="Kind"),
        Column(key="media", head="For"),
        Column(key="serial", head="Serial"),
        Column(key="accuracy", head="Stated accuracy"),
        Column(key="due", head="Calibration due", kind="date"),
        Column(key="state", head="State", kind="verdict"),
    )
    table = Table(
        name="instruments", title="Instruments", columns=columns, rows=rows, empty="The project file names none."
    )
    blocks: list[Paragraph | Table] = [table]
    if without:
        blocks.append(Paragraph(f"The project file names no instrument for {', '.join(without)}.", "caution"))
    blocks.append(_adapters(used, circuits))
    return Section(title="What to bring", blocks=tuple(blocks))


def _instrument_row(one: Instrument, today: date | None) -> tuple[Cell, ...]:
    state: Cell = Verdict("no date", "poor")
    if one.calibration_due is not None:
        state = Verdict("past due", "bad") if past_due(one, today) else Verdict("in date", "good")
    media = ", ".join(lowered(MEDIA_WORDS.get(medium, medium)) for medium in one.media)
    return one.id, one.kind, media, one.serial, accuracy_words(one), one.calibration_due, state


def accuracy_words(one: Instrument) -> str:
    """Return an instrument's stated accuracy for people, empty where none is stated."""
    pairs = (
        ("length", one.length_accuracy, one.length_accuracy_m, "m", 1.0),
        ("resistance", one.resistance_accuracy, one.resistance_accuracy_ohm, "ohm", 1.0),
        ("volts", one.volts_accuracy, one.volts_accuracy_v, "V", 1.0),
        ("delay", None, one.delay_accuracy_s, "ns", 1e-9),
        ("loss", None, one.loss_accuracy_db, "dB", 1.0),
    )
    found = []
    for what, share, fixed, unit, si in pairs:
        parts = [f"{share * 100:g} %"] if share else []
        parts += [f"{fixed / si:g} {unit}"] if fixed else []
        if parts:
            found.append(f"{what} {' + '.join(parts)}")
    return "; ".join(found)


def _adapters(used: Sequence[str], circuits: Sequence[Criteria]) -> Table:
    fitted = Counter((one.medium, one.settings.adapter) for one in circuits if one.settings.adapter)
    rows: list[tuple[Cell, ...]] = []
    for medium in used:
        count = sum(one.medium == medium for one in circuits)
        adapters = ", ".join(f"{adapter} ({number:,})" for (own, adapter), number in fitted.items() if own == medium)
        rows.append((MEDIA_WORDS[medium], count, adapters, sentence(_EQUIPMENT[medium])))
    columns = (
        Column(key="medium", head="Medium"),
        Column(key="circuits", head="Circuits", kind="whole"),
        Column(key="adapters", head="Adapters"),
        Column(key="equipment", head="Also bring"),
    )
    return Table(name="adapters", title="Adapters and small parts", columns=columns, rows=rows)


def _settings(circuits: Sequence[Criteria]) -> Section:
    counts = Counter((one.medium, one.cable, one.settings) for one in circuits if one.cable)
    rows = [
        (
            cable,
            MEDIA_WORDS[medium],
            settings.limit or "none to enter; the plan's own limits",
            settings.adapter,
            None if settings.nvp is None else settings.nvp * 100,
            "" if settings.nvp is None else "this cable" if settings.nvp_typed else "typical, check the jacket",
            settings.reference,
            count,
        )
        for (medium, cable, settings), count in counts.items()
    ]
    columns = (
        Column(key="cable", head="Cable"),
        Column(key="medium", head="Medium"),
        Column(key="limit", head="Limit with edition"),
        Column(key="adapter", head="Adapter"),
        Column(key="nvp", head="NVP", kind="number", unit="%", decimals=0),
        Column(key="origin", head="NVP from"),
        Column(key="reference", head="Fiber reference"),
        Column(key="circuits", head="Circuits", kind="whole"),
    )
    text = "A wrong velocity moves every length; a wrong limit or reference makes a reading worthless."
    table = Table(name="settings", title="By cable type", columns=columns, rows=rows)
    return Section(title="Settings to enter", blocks=(table, Paragraph(text, "note")), landscape=True)


def _sample(project: Project, circuits: Sequence[Criteria]) -> Section:
    acceptance = project.acceptance
    counts = Counter(one.cable for one in circuits)
    sampled = [
        (one.cable, counts[one.cable], one.share, sentence(_TRIGGERS[one.on_failure])) for one in acceptance.sampling
    ]
    columns = (
        Column(key="cable", head="Cable"),
        Column(key="circuits", head="Circuits", kind="whole"),
        Column(key="share", head="Tested", kind="percent", decimals=0),
        Column(key="trigger", head="What a failed one triggers"),
    )
    every = "Every circuit of the list is tested; no sample is agreed for this job."
    others = "Every circuit of the other cable types is tested."
    blocks: list[Paragraph | Table] = [Paragraph(others if sampled else every)]
    if sampled:
        blocks.append(Table(name="sampling", title="Stated samples", columns=columns, rows=sampled))
    blocks.append(_left_out(acceptance.waivers, [(one.circuit, one.state, one.reason) for one in acceptance.statuses]))
    text = (
        "A marginal result is reported as such. The crew accepts none: the owner, the engineer or the authority does."
    )
    blocks.append(Paragraph(text))
    return Section(title="Sample and exceptions", blocks=tuple(blocks))


def _left_out(waivers: Sequence[Waiver], statuses: Sequence[tuple[str, str, str]]) -> Table:
    rows: list[tuple[Cell, ...]] = [
        (one.circuit, common.verdict("waived"), one.reason, f"{one.name}, {words_of(one.role)}, {one.reference}")
        for one in waivers
    ]
    rows += [(circuit, Verdict(words_of(state), "poor"), reason, "") for circuit, state, reason in statuses]
    columns = (
        Column(key="circuit", head="Circuit"),
        Column(key="state", head="State", kind="verdict"),
        Column(key="reason", head="Why"),
        Column(key="by", head="Decided by"),
    )
    title = f"Not tested: {counted(len(rows), 'circuit')}"
    return Table(name="left_out", title=title, columns=columns, rows=rows, empty="No circuit is left out.")
