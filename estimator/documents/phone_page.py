"""The field sheets as one page for a phone: no network, no server, the same limits and the same verdict.

It renders the same description as the workbook's writer does: what is filled in, the limit columns, and
which limits judge which reading. The page's own parts are plain files in ``phone``.
"""

from __future__ import annotations

import html
import json
from collections.abc import Mapping, Sequence
from importlib import resources
from pathlib import Path
from typing import Final

from estimator.acceptance.columns import Sheet, sheet
from estimator.documents import wording
from estimator.documents.description import Cell, Column, Document, Paragraph, Section, Table
from estimator.documents.job_words import wording_values
from estimator.documents.shown import shown
from estimator.spec.model import Project

_PARTS: Final = "estimator.documents"
_FOLDER: Final = "phone"
_TABLE: Final = "field_"


def phone_page(document: Document, project: Project, templates: Path | None = None) -> bytes:
    """Return the page of a job's field sheets, which are described by ``document``.

    ``templates`` is a company's own folder of wording. Raises: WordingError where one of them is wrong.
    """
    lengths_in = project.header.lengths_in
    tables = [(section, table) for section in document.sections for table in section.blocks if isinstance(table, Table)]
    job = {
        "key": f"dropledger {document.number} {document.job}".strip(),
        "name": document.job,
        "file": project.name,
        "lengths": lengths_in,
        "helps": [line.text for line in wording.render("phone_page", wording_values(project), templates)],
        "sheets": [_sheet(section, table, lengths_in) for section, table in tables],
    }
    revision = f", revision {document.revision}" if document.revision else ""
    page = _part("page.html")
    for name, text in (
        ("title", html.escape(f"{document.job}: field sheets{revision}")),
        ("style", _part("page.css")),
        ("script", _part("page.js")),
        ("job", _data(job)),
    ):
        page = page.replace(f"{{{{{name}}}}}", text)
    return page.encode("utf-8")


def _part(name: str) -> str:
    return resources.files(_PARTS).joinpath(_FOLDER, name).read_text(encoding="utf-8")


def _data(job: Mapping[str, object]) -> str:
    """Return the job as JSON that no text in it can break out of."""
    text = json.dumps(job, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    return text.replace("<", "\\u003c").replace("\u2028", "\\u2028").replace("\u2029", "\\u2029")


def _sheet(section: Section, table: Table, lengths_in: str) -> dict[str, object]:
    form = sheet(table.name.removeprefix(_TABLE), lengths_in)
    judging = {key for one in table.judged for key in (one.low, one.high, one.accepted, one.needed) if key}
    limits = [place for place, column in enumerate(table.columns) if column.key in judging]
    given = [place for place, column in enumerate(table.columns) if _is_given(column, form)]
    expected = [
        place
        for place, column in enumerate(table.columns)
        if column.entry is None and column.key != table.verdict_column and place not in {*limits, *given}
    ]
    shared: dict[tuple[Cell, ...], int] = {}
    rows = []
    for row in table.rows:
        own = tuple(_plain(row[place]) for place in limits)
        rows.append(
            {
                "given": [_plain(row[place]) for place in given],
                "expected": [_plain(row[place]) for place in expected],
                "limits": shared.setdefault(own, len(shared)),
            }
        )
    cautions = [block.text for block in section.blocks if isinstance(block, Paragraph) and block.lead == "caution"]
    return {
        "medium": form.medium,
        "title": section.title,
        "caution": " ".join(cautions),
        "position": form.row_position,
        "beyond": [word.upper() for word in table.beyond],
        "given": [{"key": table.columns[place].key} for place in given],
        "expected": [_expected(table.columns[place]) for place in expected],
        "limits": [{"key": table.columns[place].key} for place in limits],
        "entries": [
            _entry(column, form) for column in table.columns if column.entry is not None and column.key != "round"
        ],
        "judged": [_judged(table, place) for place in range(len(table.judged))],
        "shared": [list(own) for own in shared],
        "rows": rows,
    }


def _is_given(column: Column, form: Sheet) -> bool:
    return column.entry is None and any(one.key == column.key and one.given for one in form.columns)


def _expected(column: Column) -> dict[str, object]:
    return {"title": _title(column), "decimals": column.decimals}


def _title(column: Column) -> str:
    return f"{column.head} [{column.unit}]" if column.unit else column.head


def _plain(cell: Cell) -> str | int | float | None:
    return cell if cell is None or isinstance(cell, int | float) else shown(cell)


def _entry(column: Column, form: Sheet) -> dict[str, object]:
    entry = column.entry
    assert entry is not None
    return {
        "key": column.key,
        "title": _title(column),
        "kind": column.kind,
        "unit": column.unit,
        "decimals": column.decimals,
        "words": list(entry.words),
        "low": entry.low,
        "high": entry.high,
        "prompt": entry.prompt,
        "refusal": entry.refusal,
        "reading": form.column(column.key).reading,
    }


def _judged(table: Table, place: int) -> dict[str, object]:
    one = table.judged[place]
    keys: Sequence[str] = ("reading", "low", "high", "accepted", "needed", "need", "least")
    return {**{key: getattr(one, key) for key in keys}, "instead": list(one.instead), "between": list(one.between)}
