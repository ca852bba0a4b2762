"""Sheet about what all figures stand on: rules with their origin, editions, typical values, doubtful sources."""

from __future__ import annotations

from typing import Final

from estimator.documents.common import diameter_unit, length_unit, origin
from estimator.documents.description import Block, Cell, Column, Paragraph, Section, Table
from estimator.documents.shown import shown
from estimator.reference.lookup import table, table_names
from estimator.spec.model import Cable, Project
from estimator.spec.rules import Ruled

EDITIONS: Final = (
    ("electrical", "NFPA 70"),
    ("fire_alarm", "NFPA 72"),
    ("cabling", "ANSI/TIA copper cabling"),
    ("fiber", "ANSI/TIA fiber cabling"),
    ("pathways", "ANSI/TIA pathways"),
    ("administration", "ANSI/TIA administration"),
)
"""Keys of the adopted editions, and the standard each is an edition of."""

TO_CHECK: Final = ("memory", "single")
"""Confidence of rows that should be held against the printed standard before anybody relies on them."""


def basis_section(project: Project) -> Section:
    """Return every rule, edition and typical value that the figures of this workbook stand on."""
    blocks: list[Block] = [Paragraph(note) for note in project.header.notes]
    if project.codes.amendments:
        blocks.append(Paragraph(f"Local amendments: {project.codes.amendments}"))
    blocks += [_rules(project), _editions(project)]
    return Section(title="Basis", blocks=tuple(blocks), landscape=True)


def typical_section(project: Project) -> Section:
    """Return the catalog values that stand where the project types none."""
    return Section(title="Typical cable values", blocks=(_typical(project),))


def reference_section() -> Section:
    """Return the published tables whose figures want a look at the printed page."""
    return Section(title="To be checked", blocks=(_to_check(),), landscape=True)


def _rules(project: Project) -> Table:
    confidence = {row.text("key"): row.confidence for row in table("house_defaults")}
    rows: list[tuple[Cell, ...]] = []
    for rule in project.rules.basis:
        sure = "" if rule.place else confidence[rule.attribute]
        stands = origin(str(rule.place), project) if rule.place else "default"
        rows.append((rule.key, rule.meaning, rule_text(rule, project), stands, rule.source, sure))
    return Table(
        name="rules",
        title="House rules",
        columns=(
            Column(key="rule", head="Rule"),
            Column(key="meaning", head="Meaning", width=44),
            Column(key="value", head="Value"),
            Column(key="origin", head="From"),
            Column(key="source", head="Source", width=60),
            Column(key="sure", head="How sure", width=30),
        ),
        rows=rows,
    )


def rule_text(rule: Ruled, project: Project) -> str:
    """Return a rule's value in the unit of the trade."""
    value = rule.value
    if isinstance(value, str):
        return value.replace("_", " ")
    if rule.key.endswith("_percent"):
        return f"{value * 100:g} %"
    if rule.attribute.endswith("_m"):
        unit, si = length_unit(project)
        return f"{shown(value / si, 'number', 2)} {unit}"
    tail = {"ambient_c": " C", "bundle_rise_c": " K", "speaker_loss_db": " dB"}.get(rule.attribute, "")
    return f"{value:g}{tail}"


def _editions(project: Project) -> Table:
    codes = project.codes
    rows: list[tuple[Cell, ...]] = []
    for key, name in EDITIONS:
        typed = codes.source.typed(key) is not None
        rows.append(
            (
                key.replace("_", " "),
                name,
                getattr(codes, key),
                origin(str(codes.source.at(key)), project) if typed else "default",
            )
        )
    return Table(
        name="editions",
        title="Adopted editions",
        columns=(
            Column(key="what", head="Code"),
            Column(key="standard", head="Standard"),
            Column(key="edition", head="Edition"),
            Column(key="origin", head="From"),
        ),
        rows=rows,
    )


def _typical(project: Project) -> Table:
    rows: list[tuple[Cell, ...]] = []
    for cable in project.cables.values():
        listed = cable.typed.type if cable.typed is not None and cable.typed.type else cable.id
        rows.extend((cable.id, listed, *_typical_value(cable, name, project)) for name in cable.typical)
    return Table(
        name="typical",
        title="Typical cable values",
        caption="Values of the generic catalog stand where the project types none: replace them with the data sheet's.",
        columns=(
            Column(key="cable", head="Cable"),
            Column(key="type", head="Catalog cable"),
            Column(key="what", head="What"),
            Column(key="value", head="Value"),
        ),
        rows=rows,
        empty="Every value of every cable was typed.",
    )


def _typical_value(cable: Cable, attribute: str, project: Project) -> tuple[str, str]:
    """Return what a catalog value is and how much, in the unit of the trade."""
    value = getattr(cable, attribute)
    if attribute == "od_m":
        unit, si = diameter_unit(project)
        return "outside diameter", f"{value / si:.4g} {unit}"
    if attribute == "put_up_m":
        unit, si = length_unit(project)
        return "put-up", f"{value / si:,.6g} {unit}"
    if attribute == "nvp":
        return "velocity of propagation", f"{value * 100:g} %"
    return attribute.replace("_", " "), str(value).replace("_", " ")


def _to_check() -> Table:
    rows: list[tuple[Cell, ...]] = []
    for name in table_names():
        published = table(name)
        doubtful = [row.confidence for row in published.rows if row.confidence in TO_CHECK]
        if doubtful:
            words = " and ".join(f"{doubtful.count(word)} {_WORDS[word]}" for word in TO_CHECK if word in doubtful)
            rows.append((published.title, published.source, len(published.rows), words))
    return Table(
        name="to_check",
        title="Reference figures to hold against the printed standard",
        caption="From memory: nobody read them off the page. Single source: no second publication confirmed them.",
        columns=(
            Column(key="title", head="Table", width=60),
            Column(key="source", head="Source", width=60),
            Column(key="rows", head="Rows", kind="whole"),
            Column(key="doubt", head="Of them"),
        ),
        rows=rows,
        empty="Every figure was confirmed.",
    )


_WORDS: Final = {"memory": "from memory", "single": "of a single source"}
