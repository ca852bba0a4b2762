"""The proposal of the demo project: everything a client asks is in it, nothing of how the price was built."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from decimal import Decimal
from pathlib import Path

import pytest

from estimator.documents.description import Document, Fact, Facts, Paragraph, Section, SignOff, Table
from estimator.documents.docx_writer import write_docx
from estimator.documents.proposal import proposal, valid_until
from estimator.documents.shown import shown
from estimator.documents.wording import WordingError
from estimator.spec.load import load
from estimator.takeoff.takeoff import Takeoff, take_off
from tests.documents.job_sample import LIBRARY


@pytest.fixture(scope="module")
def demo() -> Takeoff:
    """Return the takeoff of the demo project."""
    project = load(LIBRARY).project
    assert project is not None
    return take_off(project)


def _tables(document: Document) -> dict[str, Table]:
    return {block.name: block for section in document.sections for block in section.blocks if isinstance(block, Table)}


def _section(document: Document, title: str) -> Section:
    return next(section for section in document.sections if section.title == title)


def _texts(document: Document) -> Iterator[str]:
    """Yield every text of a document, as a reader meets it."""
    for fact in document.cover:
        yield f"{fact.label}: {shown(fact.value, fact.kind)}"
    for section in document.sections:
        yield section.title
        for block in section.blocks:
            if isinstance(block, Paragraph):
                yield block.text
            elif isinstance(block, Facts):
                yield from (f"{fact.label}: {shown(fact.value, fact.kind)} {fact.note}" for fact in block.rows)
            elif isinstance(block, Table):
                yield from (column.head for column in block.columns)
                kinds = [column.kind for column in block.columns]
                yield from (shown(cell, kind) for row in block.rows for cell, kind in zip(row, kinds, strict=True))


def test_the_price_stands_on_the_cover_and_in_its_table(demo: Takeoff) -> None:
    assert demo.bid is not None
    document = proposal(demo, None)

    assert _tables(document)["price"].rows[0][2] == demo.bid.price
    facts = {fact.label: fact.value for fact in document.cover}
    assert str(facts["Price"]).startswith(f"{demo.bid.price:,} USD")


def test_how_the_price_was_built_is_not_in_it(demo: Takeoff) -> None:
    assert demo.bid is not None
    said = "\n".join(_texts(proposal(demo, None))).lower()
    inner = [demo.bid.build.direct, demo.bid.build.lines, *(step.amount for step in demo.bid.build.steps)]
    inner += [amount for amount in demo.bid.build.kinds.values() if amount and amount != Decimal("750.00")]

    assert not [word for word in ("overhead", "profit", "contingency", "markup", "margin", "burden") if word in said]
    assert not [amount for amount in inner if f"{amount:,}" in said]
    assert not [item.id for item in demo.bid.book.items if f"\n{item.id}\n" in said]


def test_every_device_is_counted_under_its_system(demo: Takeoff) -> None:
    rows = {(row[0], row[1]): row[2:4] for row in _tables(proposal(demo, None))["systems"].rows}

    jacks = [run for run in demo.project.runs if run.device is not None and run.device.id == "data_jack"]
    assert rows["Data", "Data outlet jack"] == (len(jacks), len(jacks))
    # A door monitor has two cables, so that its circuits are twice its pieces.
    assert rows["Access", "Request to exit and door position"] == (2, 4)
    assert rows["Fire alarm", "Horn strobe"] == (6, 1)
    circuits = sum(count for _, count in rows.values() if isinstance(count, int))
    assert circuits == len(demo.footage.lengths)


def test_one_party_does_each_piece_of_work(demo: Takeoff) -> None:
    table = _tables(proposal(demo, None))["duties"]

    assert [column.key for column in table.columns][1:-1] == [
        "us",
        "owner",
        "general_contractor",
        "electrician",
        "others",
    ]
    assert all(list(row[1:-1]).count("X") == 1 for row in table.rows)
    assert len(table.rows) == len(demo.project.scope.duties)


def test_options_are_told_apart(demo: Takeoff) -> None:
    assert demo.bid is not None
    tables = _tables(proposal(demo, None))

    assert [row[0] for row in tables["alternates_add"].rows] == ["ALT-1", "ALT-2"]
    assert [row[0] for row in tables["alternates_deduct"].rows] == ["ALT-3"]
    amounts = {one.id: one.amount for one in demo.bid.alternates}
    assert all(row[2] == amounts[str(row[0])] for row in tables["alternates_add"].rows)
    assert all(isinstance(row[3], Decimal) and row[3] < 0 for row in tables["unit_prices"].rows)


@pytest.mark.parametrize(
    ("title", "text"),
    [
        ("Not included", "Hazardous material surveys and abatement"),
        ("Included", "Firestopping of our own penetrations"),
        ("Clarifications", "Work in the children's room is done before opening hours."),
        ("Hours, access, lead times", "Category 6A plenum cable three weeks"),
    ],
)
def test_what_was_typed_is_in_its_section(demo: Takeoff, title: str, text: str) -> None:
    blocks = _section(proposal(demo, None), title).blocks

    assert text in [block.text for block in blocks if isinstance(block, Paragraph)]


def test_addenda_tax_bond_and_wages_are_named(demo: Takeoff) -> None:
    document = proposal(demo, None)

    assert [row[:2] for row in _tables(document)["addenda"].rows] == [
        ("1", date(2026, 3, 24)),
        ("2", date(2026, 4, 2)),
    ]
    facts = [block for block in _section(document, "Price").blocks if isinstance(block, Facts)]
    assert [(fact.label, fact.value) for fact in facts[0].rows] == [
        ("Sales tax", "included, 6.25 % on material"),
        ("Bond", "included"),
        ("Wage basis", "open shop, invented rates"),
    ]


def test_hidden_hazardous_material_stops_the_work(demo: Takeoff) -> None:
    blocks = _section(proposal(demo, None), "Hidden conditions and hazardous material").blocks
    caution = next(block for block in blocks if isinstance(block, Paragraph) and block.lead == "caution")

    assert "stops work" in caution.text


def test_the_price_holds_from_the_date_of_the_offer(demo: Takeoff) -> None:
    # April 14 and 45 days: 16 left in April, 29 of May.
    assert proposal(demo, None).shown_date == date(2026, 4, 14)
    assert valid_until(demo.project, date(2026, 4, 14)) == date(2026, 5, 29)
    assert proposal(demo, date(2026, 7, 1)).shown_date == date(2026, 7, 1)
    assert Fact(label="Valid until", value="August 15, 2026") in proposal(demo, date(2026, 7, 1)).cover


def test_both_sign_on_a_page_of_their_own(demo: Takeoff) -> None:
    last = proposal(demo, None).sections[-1]

    assert last.new_page
    assert last.title == "Acceptance"
    assert any(isinstance(block, Paragraph) and "By signing below" in block.text for block in last.blocks)
    assert any(isinstance(block, SignOff) and len(block.roles) == 2 for block in last.blocks)


def test_terms_typed_by_the_project_stand_alone(demo: Takeoff) -> None:
    typed = "\n".join(_texts(proposal(demo, None)))
    header = replace(demo.project.header, license="", insurance="")
    scope = replace(demo.project.scope, payment="", hours="", duties=(), inclusions=())
    general = "\n".join(
        _texts(proposal(replace(demo, project=replace(demo.project, header=header, scope=scope)), None))
    )

    for text in (
        "due within thirty days",
        "regular weekday working hours",
        "The licenses that the work requires",
        "Certificates of the insurance that the contract asks for",
        "Patching and painting of finished surfaces are by",
        "For every system listed, the price covers:",
    ):
        assert text not in typed
        assert text in general
    assert "Payment: Monthly by percent complete" in typed


def test_the_cover_says_what_is_done_for_how_much_and_what_is_not(demo: Takeoff) -> None:
    cover = {fact.label: str(fact.value) for fact in proposal(demo, None).cover}

    assert cover["Work"] == demo.project.scope.summary
    assert all(text in cover["Not included"] for text in demo.project.scope.exclusions)


def test_a_company_replaces_the_terms(demo: Takeoff, tmp_path: Path) -> None:
    (tmp_path / "proposal_terms.j2").write_text("# Our terms\n\nPaid in {{ currency }}, signed {{ job }}.\n")
    own = proposal(demo, None, tmp_path)
    (tmp_path / "proposal_terms.j2").write_text("{{ price }}\n")

    assert _section(own, "Our terms").blocks[0] == Paragraph("Paid in USD, signed Alder Street Library refit.")
    with pytest.raises(WordingError, match=r"proposal_terms\.j2:1: no value \"price\""):
        proposal(demo, None, tmp_path)


def test_a_job_without_prices_or_scope_is_a_proposal_too(demo: Takeoff) -> None:
    bare = replace(demo, bid=None)
    said = list(_texts(proposal(bare, None)))

    assert "The price follows in a document of its own." in said
    assert write_docx(proposal(bare, None))


def test_no_table_grows_with_the_number_of_drops(demo: Takeoff) -> None:
    kinds = len({length.id for length in demo.footage.lengths})
    assert all(len(table.rows) < kinds / 3 for table in _tables(proposal(demo, None)).values())


def test_nothing_names_the_folder_that_the_file_lies_in(demo: Takeoff) -> None:
    assert not [text for text in _texts(proposal(demo, None)) if demo.project.folder in text]
