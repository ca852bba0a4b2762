"""Every reference table names where its numbers come from, and how sure they are."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator
from importlib.resources import files

import pytest

from estimator.reference.lookup import table, table_names

PRACTICE = "common practice, no published source"
CONFIDENCE = {"confirmed", "single", "computed", "memory", PRACTICE}
BODIES = re.compile(r"\b(ANSI|ASME|ASTM|BS|CFR|EIA|EN|IEC|IEEE|ISO|ITU|NFPA|TIA|UL)\b")
DATED = re.compile(r"\b(19|20)\d\d\b|-[A-F]\b|-[A-C]\.\d\b|\.\d-[A-F]\b|\bTSB-\d+|\bRS-170|\bISO 216\b|\bclauses? \d+")
UNRECORDED = "Edition not recorded where none is named."


def _head(name: str) -> dict[str, object]:
    path = files("estimator.reference").joinpath("tables", f"{name}.json")
    head = json.loads(path.read_text(encoding="utf-8"))
    assert isinstance(head, dict)
    return head


def _undated(name: str) -> Iterator[str]:
    """Yield each source that is a standard's without saying of which edition."""
    head = _head(name)
    if head["edition"] or UNRECORDED in str(head["note"]):
        return
    for row in table(name):
        if BODIES.search(row.source) and not (DATED.search(row.source) or row.cells.get("edition")):
            yield row.source


@pytest.mark.parametrize("name", table_names())
def test_a_table_names_its_source_edition_and_confidence(name: str) -> None:
    """Each row has a source of its own or its head's; what is nobody's is called common practice."""
    head = _head(name)
    assert list(head)[:6] == ["title", "source", "edition", "table", "confidence", "note"]
    rows = list(table(name))
    assert rows
    for row in rows:
        assert row.source.strip(" ,") not in ("", "as stated in each row", "see each row"), row.cells
        assert row.confidence in CONFIDENCE, row.cells
        if PRACTICE in row.source:
            assert row.confidence == PRACTICE, row.cells


@pytest.mark.parametrize("name", table_names())
def test_a_standard_is_cited_with_its_edition(name: str) -> None:
    """In the head, in the row, in its name; or the note says that the edition was not recorded."""
    assert sorted(set(_undated(name))) == []
