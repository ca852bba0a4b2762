"""The demo job's field sheets as three crews sent them back, every reading invented.

``python -m tests.demo.make_sheets`` writes them into ``specs/library/sheets``, and what the cable
tester exported into ``specs/library/evidence``. The sheets are those
that the ``criteria`` verb writes, filled in as a spreadsheet program would; one is a CSV file. Most
circuits are sound. The others carry one fault each, named in ``PLANTED``.
"""

from __future__ import annotations

import csv
import io
from collections import defaultdict
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta
from pathlib import Path
from random import Random

import openpyxl
from openpyxl.worksheet.worksheet import Worksheet

from estimator.acceptance.columns import MEDIA, sheet
from estimator.acceptance.criteria import criteria_for
from estimator.acceptance.criterion import Criteria
from estimator.documents.field_sheets import field_sheets
from estimator.documents.package import Properties, finish
from estimator.documents.xlsx_writer import write_xlsx
from estimator.spec.load import load
from estimator.takeoff.takeoff import Takeoff, take_off
from tests.demo.invented import SOUND, Cell, Row, pair_rows

LIBRARY = Path(__file__).parents[2] / "specs" / "library"
SHEETS = LIBRARY / "sheets"
EVIDENCE = LIBRARY / "evidence"

FLOOR_1, FLOOR_2 = "crew-1-floor-1.xlsx", "crew-2-floor-2.xlsx"
COAX, RETEST = "crew-3-coax.csv", "retest.xlsx"
INVENTED = "Invented for the demo job: nobody measured anything on this sheet."

UNKNOWN, UNKNOWN_LIKE = "2A-A37", "2A-A35"
"""An outlet that the crew found on the wall and the project file doesn't have, and its neighbor."""

LEFT_BLANK = ("1A-A28", "2A-A34", "2A-A28", "1A-A39", "1A-V03")
"""Two that nobody tested, one waived, one behind furniture, one in service."""

LONG_FT = {"2A-B08": 345.0}
"""A run far over the field limit of 324.8 ft, and over the tester's accuracy beside it."""

PLANTED: Mapping[str, Row] = {
    "1A-A17": {"wire_map": "open", "pins": "12045678", "length_36": 96.4, "delay_36": None, "resistance_36": "OL",
               "skew": None, "note": "jack 1-F-04 is behind the new shelving, not opened yet"},
    "1A-A33": {"wire_map": "reversed", "pins": "21345678"},
    "2A-A10": {"wire_map": "split"},
    "1A-X03": {"video_level": 0.62},
    "TP-BAT-AC:2": {"open_circuit_volts": 12.58, "load_volts": 9.62, "note": "warm to the hand after the test"},
    "1A/2A-1.7": {"loss_850": 2.21, "loss_1300": 2.07},
    "1A/2A-1.4": {"loss_850": 2.05, "loss_1300": 1.94},
    "2A-B08": {"note": "tester shows FAIL on length; the cable goes around the stair, not over it"},
    UNKNOWN: {"note": "on the wall beside 2-I-02, not on the plan"},
}  # fmt: skip
"""What is wrong with a circuit (with a block of a battery set after the colon) in its one round."""

MENDED_THE_SAME_DAY = "1A-A25"
MENDED_LATER = ("2A-A19", "2A-B03")
FIRST_ROUND: Mapping[str, Row] = {
    MENDED_THE_SAME_DAY: {"wire_map": "crossed", "pins": "36145278"},
    "2A-A19": {"wire_map": "short", "pins": "123ss678", "length_45": 41.2, "delay_45": None, "resistance_45": 1.88,
               "skew": None},
    "2A-B03": {"poe_volts": 0.0, "poe_watts": 0.0, "switch_port": "no link", "note": "port is dark"},
}  # fmt: skip
"""What was wrong before a second round found it mended."""

SECOND_ROUND: Mapping[str, Row] = {
    MENDED_THE_SAME_DAY: {"note": "jack was wired to the other scheme; done again"},
    "2A-A19": {"note": "staple pulled, pair sound again"},
    "2A-B03": {"note": "owner switched the port's power on"},
}


@dataclass(frozen=True, kw_only=True, slots=True)
class Day:
    """When a crew tests a medium: first day, rows a day, minutes a row."""

    first: date
    rows: int
    minutes: int


DAYS: Mapping[tuple[str, str], Day] = {
    (FLOOR_1, "balanced_pair"): Day(first=date(2026, 7, 22), rows=24, minutes=9),
    (FLOOR_1, "conductors"): Day(first=date(2026, 7, 28), rows=20, minutes=14),
    (FLOOR_1, "voice"): Day(first=date(2026, 7, 29), rows=20, minutes=12),
    (FLOOR_1, "speaker"): Day(first=date(2026, 7, 30), rows=20, minutes=20),
    (FLOOR_1, "battery"): Day(first=date(2026, 7, 30), rows=20, minutes=25),
    (FLOOR_1, "bonding"): Day(first=date(2026, 7, 31), rows=20, minutes=15),
    (FLOOR_2, "balanced_pair"): Day(first=date(2026, 8, 3), rows=22, minutes=10),
    (FLOOR_2, "voice"): Day(first=date(2026, 8, 6), rows=20, minutes=12),
    (FLOOR_2, "speaker"): Day(first=date(2026, 8, 6), rows=20, minutes=20),
    (FLOOR_2, "fiber"): Day(first=date(2026, 8, 7), rows=20, minutes=11),
    (FLOOR_2, "bonding"): Day(first=date(2026, 8, 7), rows=20, minutes=15),
    (COAX, "coax"): Day(first=date(2026, 8, 11), rows=20, minutes=16),
    (RETEST, "balanced_pair"): Day(first=date(2026, 8, 27), rows=20, minutes=25),
}
CREWS = {FLOOR_1: "Crew 1", FLOOR_2: "Crew 2", COAX: "Crew 3", RETEST: "Crew 2"}
_MEASURED = {column.key for column in sheet("balanced_pair").readings}
MORNING_MIN = 7 * 60 + 40
SECOND_ROUND_MIN = 4  # after the first: the jack lies open in the technician's hand


@dataclass(frozen=True, kw_only=True, slots=True)
class Entry:
    """One row that a crew filled in: circuit, block, round and cells by column key."""

    circuit: Criteria
    block: str
    round: int
    cells: Row


def rounds(one: Criteria, takeoff: Takeoff) -> list[Entry]:
    """Return every row of a circuit in the first file that it stands in, faults included."""
    random = Random(f"{one.id} 1")
    long = LONG_FT.get(one.id)
    sound = pair_rows(one, random, long) if long else SOUND[one.medium](one, random)
    point = takeoff.project.test_points.get(one.circuit)
    load_a = point.load_a if point else None
    found = []
    for row in sound:
        block = str(row.get("block") or row.get("strand") or "")
        own = PLANTED.get(f"{one.id}:{block}" if one.rows else one.id, {})
        planted = {key: value for key, value in own.items() if key in row or key == "note"}
        first = FIRST_ROUND.get(one.id, {})
        cells = {**row, **({"load_amps": load_a} if load_a else {}), **planted, **first}
        found.append(Entry(circuit=one, block=block, round=1, cells=cells))
    if one.id == MENDED_THE_SAME_DAY:
        found.append(second_round(one))
    return found


def second_round(one: Criteria) -> Entry:
    """Return the row of a circuit that was tested again and found sound."""
    row = pair_rows(one, Random(f"{one.id} 2"))[0]
    return Entry(circuit=one, block="", round=2, cells={**row, **SECOND_ROUND[one.id]})


def file_of(one: Criteria) -> str:
    """Return the file in which a circuit's first round stands."""
    if one.medium == "coax":
        return COAX
    second = one.room == "2A" or one.medium == "fiber" or one.id == "TP-BOND-2A"
    return FLOOR_2 if second else FLOOR_1


def entries(takeoff: Takeoff, circuits: Sequence[Criteria]) -> Mapping[str, list[Entry]]:
    """Return the filled rows of each file in the order of its sheets, dated."""
    found: dict[str, list[Entry]] = {name: [] for name in CREWS}
    for one in circuits:
        if one.id in LEFT_BLANK:
            continue
        found[file_of(one)].extend(rounds(one, takeoff))
        if one.id in MENDED_LATER:
            found[RETEST].append(second_round(one))
    return {name: dated(name, rows) for name, rows in found.items()}


def dated(file: str, rows: Iterable[Entry]) -> list[Entry]:
    """Return the rows with who tested them and when, by medium in the order given."""
    places: dict[str, int] = defaultdict(int)
    found = []
    for entry in rows:
        medium = entry.circuit.medium
        day = DAYS[file, medium]
        again = entry.round > 1 and file != RETEST
        place = places[medium] - 1 if again else places[medium]
        places[medium] = place + 1
        minute = MORNING_MIN + place % day.rows * day.minutes + (SECOND_ROUND_MIN if again else 0)
        when: Row = {"date": (day.first + timedelta(days=place // day.rows)).isoformat()}
        when |= {"time": f"{minute // 60:02d}:{minute % 60:02d}", "person": CREWS[file]}
        if entry.cells["instrument"] in ("CT-1", "FL-1"):
            record = f"{day.first.isoformat()}, record {place + 1}{'b' if again else ''}"
            when["evidence"] = f"{entry.cells['instrument']} export {record}"
        found.append(replace(entry, cells={**entry.cells, **when}))
    return found


def form(takeoff: Takeoff, circuits: Iterable[Criteria], rows: Sequence[Entry]) -> bytes:
    """Return the unfilled workbook, a circuit's row copied for every further row that it needs."""
    needed: dict[tuple[str, str], int] = defaultdict(int)
    for entry in rows:
        needed[entry.circuit.id, entry.block] += 1
    most = {one.id: max((count for (id_, _), count in needed.items() if id_ == one.id), default=1) for one in circuits}
    copied = [one for one in circuits for _ in range(most[one.id])]
    return write_xlsx(field_sheets(takeoff, copied, takeoff.project.header.shown_date))


def filled(takeoff: Takeoff, circuits: Iterable[Criteria], rows: Sequence[Entry]) -> bytes:
    """Return the workbook with its rows filled in, saved anew: the same bytes each time."""
    queues: dict[tuple[str, str], list[Entry]] = defaultdict(list)
    for entry in rows:
        queues[entry.circuit.circuit, entry.block].append(entry)
    book = openpyxl.load_workbook(io.BytesIO(form(takeoff, list(circuits), rows)))
    for medium in MEDIA:
        title = sheet(medium).title
        if title in book.sheetnames:
            fill(book[title], medium, queues)
    left = [name for name, queue in queues.items() if queue]
    assert not left, f"rows that found no place: {left}"
    out = io.BytesIO()
    book.save(out)
    shown = Properties(title="Field sheets, filled in", shown_date=takeoff.project.header.shown_date)
    return finish(out.getvalue(), properties=shown)


def heads_of(tab: Worksheet) -> tuple[int, dict[str, int]]:
    """Return the row of a sheet's heads, and the column of each."""
    for row in tab.iter_rows(max_row=20):
        if row[0].value == "Circuit":
            return row[0].row, {str(cell.value): cell.column for cell in row if cell.value}
    raise AssertionError(f"{tab.title} has no head")


def fill(tab: Worksheet, medium: str, queues: Mapping[tuple[str, str], list[Entry]]) -> None:
    """Type the readings of a medium into its sheet."""
    head, heads = heads_of(tab)
    columns = {column.key: heads[column.title] for column in sheet(medium).columns if column.title in heads}
    position = sheet(medium).row_position
    first = True
    for number in range(head + 1, tab.max_row + 1):
        circuit = tab.cell(number, columns["circuit"]).value
        block = tab.cell(number, columns[position]).value if position else ""
        queue = queues.get((str(circuit), str(block or "")))
        if not queue:
            continue
        entry = queue.pop(0)
        tab.cell(number, columns["round"]).value = entry.round
        for key, value in noted(entry.cells, first).items():
            tab.cell(number, columns[key]).value = typed(key, value)
        first = False


def noted(cells: Row, first: bool) -> Row:
    """Return the cells; a sheet's first row says that the readings are invented."""
    if not first:
        return cells
    return {**cells, "note": "; ".join(str(note) for note in (INVENTED, cells.get("note")) if note)}


def typed(key: str, value: Cell) -> Cell | date:
    """Return what stands in a cell: a date is one, not a text."""
    return date.fromisoformat(str(value)) if key == "date" else value


def as_csv(rows: Sequence[Entry]) -> bytes:
    """Return a sheet of coax rows as a spreadsheet program saves it as CSV, dates month first."""
    columns = sheet("coax").columns
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([f"note: {INVENTED}"])
    writer.writerow(["dates: mdy"])
    writer.writerow([column.title for column in columns])
    for entry in rows:
        one, day = entry.circuit, date.fromisoformat(str(entry.cells["date"]))
        cells = {"circuit": one.circuit, "round": entry.round, "start": one.room, "end": one.far_end, **entry.cells}
        cells["date"] = f"{day.month}/{day.day}/{day.year}"
        writer.writerow([cells.get(column.key, "") for column in columns])
    return out.getvalue().encode("utf-8-sig")


def library() -> Takeoff:
    """Return the demo job's takeoff."""
    project = load(LIBRARY / "library.yaml").project
    assert project is not None
    return take_off(project)


def exports(rows: Iterable[Entry]) -> Mapping[str, bytes]:
    """Return the cable tester's own files by name, one a day; nobody handed in those of the other instrument."""
    found: dict[str, list[str]] = {}
    for entry in rows:
        day, _, record = str(entry.cells.get("evidence", "")).partition(", ")
        if day.startswith("CT-1 "):
            read = [f"{key}={text}" for key, text in entry.cells.items() if key in _MEASURED]
            found.setdefault(f"{day}.txt", []).append("; ".join([record, entry.circuit.id, *read]))
    return {name: "\n".join([INVENTED, *lines, ""]).encode() for name, lines in sorted(found.items())}


def made(takeoff: Takeoff) -> Mapping[str, bytes]:
    """Return every sheet by name."""
    circuits, rows = _filled_in(takeoff)
    with_found = [one for one in circuits if one.id != UNKNOWN]
    again = [one for one in with_found if one.id in MENDED_LATER]
    return {
        FLOOR_1: filled(takeoff, with_found, rows[FLOOR_1]),
        FLOOR_2: filled(takeoff, circuits, rows[FLOOR_2]),
        COAX: as_csv(rows[COAX]),
        RETEST: filled(takeoff, again, rows[RETEST]),
    }


def exported(takeoff: Takeoff) -> Mapping[str, bytes]:
    """Return every file of the cable tester by name."""
    return exports(entry for listed in _filled_in(takeoff)[1].values() for entry in listed)


def _filled_in(takeoff: Takeoff) -> tuple[list[Criteria], Mapping[str, list[Entry]]]:
    """Return the circuits, with the one that nobody planned, and the rows of every sheet."""
    circuits = list(criteria_for(takeoff.project, takeoff.footage))
    like = next(place for place, one in enumerate(circuits) if one.id == UNKNOWN_LIKE)
    found = replace(circuits[like], id=UNKNOWN, circuit=UNKNOWN, far_end="Data outlet jack 2-I-03")
    with_found = [*circuits[: like + 1], found, *circuits[like + 1 :]]
    return with_found, entries(takeoff, with_found)


def main() -> None:
    """Write the sheets and the cable tester's files into the demo job."""
    takeoff = library()
    for folder, files in ((SHEETS, made(takeoff)), (EVIDENCE, exported(takeoff))):
        folder.mkdir(exist_ok=True)
        for name, content in files.items():
            (folder / name).write_bytes(content)
            print(f"{folder / name}: {len(content):,} bytes")


if __name__ == "__main__":
    main()
