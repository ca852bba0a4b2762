"""The verdicts of all sheets in one table: how many are judged, good, doubtful and bad, live."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Mapping, Sequence
from typing import Final

from estimator.documents.description import Cell, Column, Formula, Matching, Paragraph, Ref, Section, Table, Verdict
from estimator.takeoff.counts import counted_words

_TONES: Final = (("good", "Good"), ("poor", "In doubt"), ("bad", "To mend"))


def verdicts_section(sections: Iterable[Section]) -> Section:
    """Return one row for each table of these sections that judges by live words."""
    text = (
        "These counts follow a cell that is changed in this workbook. Warnings are those of the project file, until "
        "the estimate is made again from it."
    )
    return Section(title="Verdicts", blocks=(Paragraph(text), _counts(sections)))


def _counts(sections: Iterable[Section]) -> Table:
    return Table(
        name="verdict_counts",
        title="How it stands",
        columns=(
            Column(key="what", head="Judged"),
            Column(key="sheet", head="On the sheet"),
            *(Column(key=tone, head=head, kind="whole") for tone, head in _TONES),
        ),
        rows=[row for section in sections for table in _tables(section) for row in _rows(table, section)],
        empty="Nothing is judged in this job.",
    )


def _tables(section: Section) -> Iterable[Table]:
    return (block for block in section.blocks if isinstance(block, Table) and block.rows)


def _rows(table: Table, section: Section) -> Iterable[tuple[Cell, ...]]:
    for at, column in enumerate(table.columns):
        if column.kind != "verdict":
            continue
        found = [cell for row in table.rows if isinstance(cell := row[at], Verdict)]
        words = _words(column, found)
        if words:
            what = table.title if column.key == "word" else f"{table.title}: {column.head}"
            held = Counter(cell.word for cell in found)
            counts = [_count(table, column.key, tone, words, held) for tone, _ in _TONES]
            yield what, section.sheet or section.title, *counts


def _words(column: Column, found: Sequence[Verdict]) -> Sequence[Verdict]:
    """Return the words that a column's live cells may say, each once."""
    lives = {id(cell.live): cell.live for cell in found if cell.live is not None}
    every = [word for words in (*lives.values(), *([column.words] if column.words else [])) for word in words.every]
    return list({word.word: word for word in every}.values()) if found else []


def _count(table: Table, key: str, tone: str, words: Sequence[Verdict], held: Counter[str]) -> Cell:
    chosen = [word.word for word in words if word.tone == tone]
    if not chosen:
        return None
    cells = (Matching(table.name, key, key, word, key_is_column=False) for word in chosen)
    inputs: Mapping[str, Ref] = {f"word_{number}": one for number, one in enumerate(cells)}
    return Formula(counted_words(len(chosen)), float(sum(held[word] for word in chosen)), inputs)
