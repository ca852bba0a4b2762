"""Tables in a Word document: captioned, headed on every page, parted when long or wide.

Rows are written as text and put into the finished archive, because building cells one by one as
elements costs twenty times as much.
"""

from __future__ import annotations

import math
import re
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from decimal import Decimal
from typing import Final

from estimator.documents import docx_widths
from estimator.documents.description import Cell, Column, Facts, Formula, Kind, SignOff, Table, Verdict
from estimator.documents.docx_parts import Element, paragraph, parse, run, tag
from estimator.documents.docx_styles import FACTS_STYLE, SIGN_STYLE, TABLE_PT, TABLE_STYLE
from estimator.documents.look import RIGHT_ALIGNED, TONES
from estimator.documents.package import xml_text
from estimator.documents.shown import head, shown, shown_with_unit

MOST_ROWS: Final = 100
"""Rows in one Word table: layout time grows faster than the number of rows."""

_KEPT_WHOLE: Final = 8  # a table up to so many rows is not parted by a page
_KEPT_LINES: Final = 24  # nor one up to so many lines: what is taller than a page would leave its caption behind
_LINE: Final = 60  # letters that a line of a table's text holds, near enough
_SOLID: Final = RIGHT_ALIGNED | {"date", "verdict"}
_FACT_HEADS: Final = ("Item", "Entry", "Note")
_SIGN_HEADS: Final = ("Role", "Name", "Signature", "Date")
_SIGN_SHARES: Final = (0.26, 0.26, 0.32, 0.16)
_SIGN_HEIGHT: Final = 560  # room for a pen [twips]

Append = Callable[[Element], None]
Caption = Callable[[str], Element]


def is_gap(element: Element) -> bool:
    """Return whether an element is the gap that is left below a table."""
    return bool(element.xpath('./w:pPr/w:pStyle[@w:val="TableGap"]'))


class HeldRows:
    """Rows of tables as text, held back from the tree; a mark stands for them until the archive is finished."""

    def __init__(self) -> None:
        """Hold nothing yet."""
        self._held: list[str] = []

    def mark(self, xml: str) -> Element:
        """Return the mark that stands for rows."""
        self._held.append(xml)
        return parse(f'<w:tr held="{len(self._held) - 1}"/>')

    def put(self, part: bytes) -> bytes:
        """Return a part of the archive with every mark replaced by its rows.

        No text of a document can look like a mark: its signs are escaped.
        """
        return _MARK.sub(lambda found: self._held[int(found[1])].encode(), part)


_MARK: Final = re.compile(rb'<w:tr held="(\d+)"/>')


def add_table(append: Append, caption: Caption, table: Table, width: int, held: HeldRows) -> None:
    """Append a table, as several where it is longer than 100 rows or wider than the page.

    ``caption`` makes a caption of a text: numbered at the first call for this table. ``held`` takes
    the rows until the archive is finished.
    """
    texts = _texts(table)
    needs = [
        docx_widths.need(
            head(column),
            texts[index],
            solid=column.kind in _SOLID,
            bold=column.kind == "verdict",
            most_chars=column.width,
        )
        for index, column in enumerate(table.columns)
    ]
    fits = docx_widths.fit(needs, width)
    body = len(table.rows)
    for fitted in fits:
        for start in range(0, max(body, 1), MOST_ROWS):
            end = min(start + MOST_ROWS, body)
            title = _part_title(table, fits, fitted, start, end)
            append(caption(title))
            if body == 0:
                append(parse(paragraph("TableNote", run(table.empty))))
                return
            last = len(texts[0]) if end == body else end
            append(_built(table, texts, fitted, range(start, last), end < last, held))
            append(parse(paragraph("TableGap", "")))


def _part_title(table: Table, fits: Sequence[docx_widths.Fit], fitted: docx_widths.Fit, start: int, end: int) -> str:
    notes = []
    if len(fits) > 1:
        first, last = fitted.columns[1], fitted.columns[-1]
        notes.append(f"{table.columns[first].head} to {table.columns[last].head}")
    if len(table.rows) > MOST_ROWS:
        notes.append(f"rows {start + 1:,} to {end:,} of {len(table.rows):,}")
    return "; ".join(notes)


def _texts(table: Table) -> list[list[str]]:
    """Return the cells of every column as text, the total last where there is a row of them."""
    columns: Iterable[Sequence[Cell]] = zip(*table.rows, strict=True) if table.rows else [()] * len(table.columns)
    texts = [
        _column_texts(cells, column.kind, column.decimals) for column, cells in zip(table.columns, columns, strict=True)
    ]
    if table.totals and table.rows:
        for own, total in zip(texts, _total_row(table), strict=True):
            own.append(total)
    return texts


def _column_texts(cells: Iterable[Cell], kind: Kind, decimals: int) -> list[str]:
    known: dict[float, str] = {}
    texts = []
    for cell in cells:
        if type(cell) is str:
            texts.append(cell)
        elif type(cell) is float and cell:  # zero is left out: minus zero is its equal and reads otherwise
            text = known.get(cell)
            if text is None:
                text = known[cell] = shown(cell, kind, decimals)
            texts.append(text)
        else:
            texts.append(shown(cell, kind, decimals))
    return texts


def _total_row(table: Table) -> list[str]:
    texts = [_total(column, [row[index] for row in table.rows]) for index, column in enumerate(table.columns)]
    free = next((index for index, column in enumerate(table.columns) if not column.total), None)
    if free is not None:
        texts[free] = "Total"
    return texts


def _total(column: Column, cells: Sequence[Cell]) -> str:
    if column.total == "count":
        return shown(sum(cell not in (None, "") for cell in cells), "whole")
    if column.total != "sum":
        return ""
    values = [cell.value if isinstance(cell, Formula) else cell for cell in cells]
    numbers = [value for value in values if isinstance(value, int | float | Decimal)]
    if any(isinstance(number, Decimal) for number in numbers):
        exact = sum((Decimal(str(number)) for number in numbers), Decimal(0))
        return shown(exact, column.kind, column.decimals)
    return shown(math.fsum(map(float, numbers)), column.kind, column.decimals)


def _built(
    table: Table,
    texts: Sequence[Sequence[str]],
    fitted: docx_widths.Fit,
    rows: range,
    totals: bool,
    held: HeldRows,
) -> Element:
    columns = [table.columns[index] for index in fitted.columns]
    built = parse(_frame(TABLE_STYLE, fitted.widths, table.title, last=totals))
    built.append(parse(_head_row(columns, fitted)))
    # Few rows stay together; of many, the last two do, so that no row stands alone.
    whole = len(rows) <= _KEPT_WHOLE and _lines([[own[row] for own in texts] for row in rows]) <= _KEPT_LINES
    keep_from = rows.start if whole else max(rows.start, rows.stop - 2)
    loose, kept = (_row_shape(columns, fitted, keep=keep) for keep in (False, True))
    last_row = rows.stop - 1
    parts = ((loose, rows.start, keep_from), (kept, keep_from, last_row), (loose, last_row, rows.stop))
    built.append(held.mark("".join(_rows(table, texts, *part) for part in parts)))
    return built


@dataclass(frozen=True, slots=True)
class _Shape:
    """What stands before and after the text of a cell; ``toned`` ones take the tone of their verdict."""

    index: int
    before: str
    after: str
    size: str
    toned: bool


def _row_shape(columns: Sequence[Column], fitted: docx_widths.Fit, *, keep: bool) -> tuple[_Shape, ...]:
    size = _size(fitted.size_pt)
    shapes = []
    for index, column, width in zip(fitted.columns, columns, fitted.widths, strict=True):
        style = "TableNumber" if column.kind in RIGHT_ALIGNED else "TableText"
        before, _, after = _cell(width, style, "\x01", keep=keep).partition("\x01")
        shapes.append(_Shape(index, before, after, size, column.kind == "verdict"))
    return tuple(shapes)


def _rows(table: Table, texts: Sequence[Sequence[str]], shapes: Sequence[_Shape], start: int, end: int) -> str:
    """Return rows, made a column at a time: the cells of a column differ in little but their text."""
    made = []
    for shape in shapes:
        own = texts[shape.index][start:end]
        if shape.toned:
            cells = [row[shape.index] for row in table.rows[start:end]]
            made.append(_verdicts(shape, own, [*cells, *[None] * (len(own) - len(cells))]))  # a total has no tone
        else:
            made.append(_words(shape, own))
    return "".join([f"<w:tr><w:trPr><w:cantSplit/></w:trPr>{''.join(row)}</w:tr>" for row in zip(*made, strict=True)])


def _words(shape: _Shape, texts: Sequence[str]) -> list[str]:
    """Return the cells of a column without tones."""
    properties = f"<w:rPr>{shape.size}</w:rPr>" if shape.size else ""
    before, after = f'{shape.before}<w:r>{properties}<w:t xml:space="preserve">', f"</w:t></w:r>{shape.after}"
    everything = "".join(texts)
    if _BREAKS.search(everything):
        return [
            f"{shape.before}{run(text, shape.size)}{shape.after}"
            if _BREAKS.search(text)
            else f"{before}{xml_text(text)}{after}"
            for text in texts
        ]
    if xml_text(everything) != everything:
        texts = [xml_text(text) for text in texts]
    return [f"{before}{text}{after}" for text in texts]


_BREAKS: Final = re.compile("[\n\t\r]")


def _verdicts(shape: _Shape, texts: Sequence[str], cells: Sequence[Cell]) -> list[str]:
    """Return the cells of a column of verdicts, each made once."""
    plain = dict(zip(texts, _words(shape, texts), strict=True))
    toned: dict[tuple[str, str], str] = {}
    made = []
    for text, cell in zip(texts, cells, strict=True):
        if not isinstance(cell, Verdict) or cell.tone == "none":
            made.append(plain[text])
            continue
        key = text, cell.tone
        if key not in toned:
            toned[key] = _toned(shape, text, cell)
        made.append(toned[key])
    return made


def _toned(shape: _Shape, text: str, value: Verdict) -> str:
    """Return a verdict's cell, lightly shaded, its word in the tone's ink."""
    tone = TONES[value.tone]
    shade = f'<w:shd w:val="clear" w:color="auto" w:fill="{tone.fill}"/></w:tcPr>'
    inner = run(text, f'<w:b/><w:color w:val="{tone.ink}"/>{shape.size}')
    return shape.before.replace("</w:tcPr>", shade, 1) + inner + shape.after


def _lines(rows: Sequence[Sequence[str]]) -> int:
    """Return about how many lines the rows take."""
    return sum(max(text.count("\n") + 1 + len(text) // _LINE for text in row) for row in rows)


def _frame(style: str, widths: Sequence[int], title: str, *, last: bool = False) -> str:
    grid = "".join(f'<w:gridCol w:w="{width}"/>' for width in widths)
    look = f'w:firstRow="1" w:lastRow="{int(last)}" w:firstColumn="0" w:lastColumn="0"'
    named = f'<w:tblCaption w:val="{xml_text(title)}"/>' if title else ""
    return (
        f'<w:tbl><w:tblPr><w:tblStyle w:val="{style}"/><w:tblW w:w="{sum(widths)}" w:type="dxa"/>'
        f'<w:tblLayout w:type="fixed"/><w:tblLook w:val="{0x20 + 0x40 * last + 0x600:04X}" {look} '
        f'w:noHBand="1" w:noVBand="1"/>{named}</w:tblPr><w:tblGrid>{grid}</w:tblGrid></w:tbl>'
    )


def _cell(width: int, style: str, inner: str, *, keep: bool = False, bottom: bool = False) -> str:
    place = '<w:vAlign w:val="bottom"/>' if bottom else ""
    ahead = "<w:keepNext/>" if keep else ""
    return (
        f'<w:tc><w:tcPr><w:tcW w:w="{width}" w:type="dxa"/>{place}</w:tcPr>'
        f"{paragraph(style, inner, ahead=ahead)}</w:tc>"
    )


def _size(size_pt: float) -> str:
    half_points = int(size_pt * 2)
    return "" if size_pt == TABLE_PT else f'<w:sz w:val="{half_points}"/><w:szCs w:val="{half_points}"/>'


def _head_row(columns: Sequence[Column], fitted: docx_widths.Fit) -> str:
    cells = "".join(
        _cell(
            width,
            "TableHeadNumber" if column.kind in RIGHT_ALIGNED else "TableHead",
            run(head(column), _size(fitted.size_pt)),
            bottom=True,
        )
        for column, width in zip(columns, fitted.widths, strict=True)
    )
    return f"<w:tr><w:trPr><w:cantSplit/><w:tblHeader/></w:trPr>{cells}</w:tr>"


def _tint(cell: Element, value: Cell) -> None:
    """Shade a verdict's cell lightly and set its word in the tone's ink."""
    if not isinstance(value, Verdict) or value.tone == "none":
        return
    tone = TONES[value.tone]
    cell[0].append(parse(f'<w:shd w:val="clear" w:color="auto" w:fill="{tone.fill}"/>'))
    holder = cell[1][1]
    properties = holder[0] if holder[0].tag == tag("rPr") else None
    ink = parse(f'<w:color w:val="{tone.ink}"/>')
    if properties is None:
        properties = parse("<w:rPr/>")
        holder.insert(0, properties)
    properties.insert(0, ink)
    properties.insert(0, parse("<w:b/>"))


def add_facts(append: Append, facts: Facts, width: int) -> None:
    """Append labeled values under their title, kept on one page where they are few."""
    if not facts.rows:
        if facts.title:
            append(parse(paragraph("FactsHeading", run(facts.title))))
        append(parse(paragraph("TableNote", run("None."))))
        return
    append(facts_table(facts, width))
    append(parse(paragraph("TableGap", "")))


def facts_table(facts: Facts, width: int) -> Element:
    """Return labeled values as a table of two columns, or three where a value has a note.

    Its head is the title over all columns, else a word for each: a screen reader wants one.
    """
    noted = any(fact.note for fact in facts.rows)
    rows = [
        (
            fact.label,
            shown_with_unit(fact.value, fact.kind, fact.decimals, fact.unit),
            *((fact.note,) * noted),
        )
        for fact in facts.rows
    ]
    columns = [[row[index] for row in rows] for index in range(2 + noted)]
    needs = [
        docx_widths.need("" if facts.title else said, texts, solid=False)
        for said, texts in zip(_FACT_HEADS, columns, strict=False)
    ]
    widths = docx_widths.fit(needs, width)[0].widths
    built = parse(_frame(FACTS_STYLE, widths, facts.title))
    built.append(parse(_facts_head(facts.title, widths)))
    styles = ("FactLabel", "TableText", "FactLabel")
    for place, (row, fact) in enumerate(zip(rows, facts.rows, strict=True)):
        keep = place + 1 < len(rows) <= 2 * _KEPT_WHOLE
        cells = "".join(
            _cell(size, style, run(text), keep=keep) for size, style, text in zip(widths, styles, row, strict=False)
        )
        made = parse(f"<w:tr><w:trPr><w:cantSplit/></w:trPr>{cells}</w:tr>")
        _tint(made[2], fact.value)
        built.append(made)
    return built


def _facts_head(title: str, widths: Sequence[int]) -> str:
    if title:
        spanned = f'<w:tc><w:tcPr><w:tcW w:w="{sum(widths)}" w:type="dxa"/><w:gridSpan w:val="{len(widths)}"/></w:tcPr>'
        cells = f"{spanned}{paragraph('FactsHeading', run(title))}</w:tc>"
    else:
        cells = "".join(
            _cell(size, "FactLabel", run(said), keep=True) for size, said in zip(widths, _FACT_HEADS, strict=False)
        )
    return f"<w:tr><w:trPr><w:cantSplit/><w:tblHeader/></w:trPr>{cells}</w:tr>"


def add_sign_off(append: Append, sign_off: SignOff, width: int) -> None:
    """Append lines to sign on, one a role, never parted by a page."""
    widths = [int(width * share) for share in _SIGN_SHARES]
    widths[0] += width - sum(widths)
    built = parse(_frame(SIGN_STYLE, widths, "Signatures"))
    heads = "".join(
        _cell(size, "TableHead", run(text), keep=True) for size, text in zip(widths, _SIGN_HEADS, strict=True)
    )
    built.append(parse(f"<w:tr><w:trPr><w:cantSplit/><w:tblHeader/></w:trPr>{heads}</w:tr>"))
    for place, role in enumerate(sign_off.roles):
        keep = place + 1 < len(sign_off.roles)
        texts = (role, "", "", "")
        cells = "".join(
            _cell(size, "TableText", run(text), keep=keep, bottom=True)
            for size, text in zip(widths, texts, strict=True)
        )
        height = f'<w:trHeight w:val="{_SIGN_HEIGHT}" w:hRule="atLeast"/>'
        built.append(parse(f"<w:tr><w:trPr><w:cantSplit/>{height}</w:trPr>{cells}</w:tr>"))
    append(built)
    append(parse(paragraph("TableGap", "")))
