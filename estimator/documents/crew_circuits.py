"""The test plan's lists: limits by cable type, then each circuit with its own numbers."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from estimator.acceptance.columns import MEDIA, PAIRS
from estimator.acceptance.criterion import Criteria, Criterion
from estimator.documents import common
from estimator.documents.description import Cell, Column, Paragraph, Section, Table
from estimator.documents.job_words import MEDIA_WORDS, lowered, source_with_trust, words_of
from estimator.spec.model import Project

_NS: Final = 1e-9
Side = Literal["expected", "low", "high"]


@dataclass(frozen=True, slots=True)
class _Number:
    """A number of a circuit that has a column of its own in the medium's lists."""

    head: str
    test: str
    position: str
    side: Side
    decimals: int = 1


_LENGTH: Final = (_Number("Length, max", "length", "", "high", 0),)
_NUMBERS: Final[Mapping[str, tuple[_Number, ...]]] = {
    "balanced_pair": (
        *_LENGTH,
        _Number("Loop, max", "resistance", "12", "high"),
        _Number("Delay, max", "delay", "12", "high", 0),
        _Number("PoE, min", "poe", "volts", "low"),
        _Number("PoE, min", "poe", "watts", "low"),
    ),
    "coax": (
        *_LENGTH,
        _Number("Loop, max", "resistance", "", "high"),
        _Number("Loss expected", "loss", "", "expected"),
        _Number("Loss, max", "loss", "", "high"),
        _Number("Return loss, min", "return_loss", "", "low"),
        _Number("Level, min", "video_level", "terminated", "low", 2),
        _Number("Level, max", "video_level", "terminated", "high", 2),
    ),
    "conductors": (
        _Number("Loop, max", "resistance", "", "high", 0),
        _Number("End of line, min", "end_of_line", "", "low", 0),
        _Number("End of line, max", "end_of_line", "", "high", 0),
        _Number("Last device, min", "line_volts", "", "low"),
    ),
    "voice": (
        _Number("Loop, max", "resistance", "", "high", 0),
        _Number("On hook, min", "line_volts", "on_hook", "low"),
        _Number("On hook, max", "line_volts", "on_hook", "high"),
    ),
    "speaker": (
        _Number("Impedance expected", "impedance", "", "expected"),
        _Number("Impedance, min", "impedance", "", "low"),
        _Number("Impedance, max", "impedance", "", "high"),
    ),
    "battery": (
        _Number("At rest, min", "open_circuit_volts", "1", "low", 2),
        _Number("Under load, min", "load_volts", "1", "low", 2),
    ),
    "fiber": (
        *_LENGTH,
        *(_Number(f"{nm} nm, max", "loss", str(nm), "high", 2) for nm in (850, 1300, 1310, 1550)),
    ),
    "bonding": (_Number("Resistance, max", "bonding", "", "high", 3),),
}


def limits_sections(circuits: Sequence[Criteria]) -> Iterable[Section]:
    """Yield what passes, a medium after the other, by cable type."""
    text = "A reading at its limit passes. The field limit of a length holds the standard's allowance for propagation; "
    text += "the longest length that was designed is another thing."
    yield Section(title="What is good", blocks=(Paragraph(text),), landscape=True)
    for medium in MEDIA:
        own = [one for one in circuits if one.medium == medium]
        if own:
            table = _limits(f"limits_{medium}", f"Limits: {lowered(MEDIA_WORDS[medium])}", own)
            yield Section(title=MEDIA_WORDS[medium], blocks=(table,), level=2, landscape=True)


_LIMIT_COLUMNS: Final = (
    Column(key="cable", head="Cable"),
    Column(key="link", head="Link or circuit"),
    Column(key="reading", head="Reading"),
    Column(key="good", head="Good if"),
    Column(key="needed", head="Needed"),
    Column(key="source", head="Where the limit comes from"),
)


def _limits(name: str, title: str, circuits: Sequence[Criteria]) -> Table:
    rows = list(_limit_rows(circuits))
    kept = [at for at in range(len(_LIMIT_COLUMNS)) if any(row[at] for row in rows)]
    return Table(
        name=name,
        title=title,
        columns=tuple(_LIMIT_COLUMNS[at] for at in kept),
        rows=[tuple(row[at] for at in kept) for row in rows],
    )


def _limit_rows(circuits: Sequence[Criteria]) -> Iterable[tuple[str, ...]]:
    """Yield what passes; cables of which all is asked alike stand together."""
    groups: dict[tuple[str, str], list[Criteria]] = {}
    for one in circuits:
        groups.setdefault((one.cable or one.far_end, words_of(one.link)), []).append(one)
    alike: dict[tuple[str, tuple[tuple[str, ...], ...]], list[str]] = {}
    for (cable, link), members in groups.items():
        alike.setdefault((link, tuple(_limits_of(members))), []).append(cable)
    for (link, rows), cables in alike.items():
        for row in rows:
            yield ", ".join(cables), link, *row


def _limits_of(circuits: Sequence[Criteria]) -> Iterable[tuple[str, ...]]:
    for label, found in _readings(circuits).items():
        limits = list(dict.fromkeys(one.limit for one in found))
        stated = (source_with_trust(common.without_place(one.source), one.confidence) for one in found)
        sources = list(dict.fromkeys(stated))
        needed = {one.required for one in found}
        good = limits[0] if len(limits) == 1 else "each circuit's own, see its list"
        source = sources[0] if len(sources) == 1 else "as its circuits state"
        yield label, good, "some" if len(needed) > 1 else "yes" if True in needed else "if read", source


def _readings(circuits: Sequence[Criteria]) -> dict[str, list[Criterion]]:
    """Return criteria by reading; those of single pairs and blocks stand in one."""
    found: dict[str, list[Criterion]] = {}
    for one in circuits:
        for criterion in one.criteria:
            found.setdefault(_reading(criterion, one), []).append(criterion)
    return found


def _reading(criterion: Criterion, one: Criteria) -> str:
    if criterion.position in PAIRS:
        return f"{criterion.label.partition(',')[0]}, each pair"
    if one.rows and criterion.position in one.rows:
        return f"{criterion.label.rpartition(',')[0]}, each block"
    return criterion.label


def circuit_sections(project: Project, circuits: Sequence[Criteria]) -> Iterable[Section]:
    """Yield each room's circuits in test order, a table a medium."""
    rooms: dict[str, list[Criteria]] = {}
    for one in circuits:
        rooms.setdefault(one.room, []).append(one)
    left_out = {one.circuit: "waived" for one in project.acceptance.waivers}
    left_out |= {one.circuit: words_of(one.state) for one in project.acceptance.statuses}
    text = "Compare the reading with what is expected: a pass with the wrong length is usually the wrong cable."
    yield Section(title="Circuits", blocks=(Paragraph(text),), landscape=True)
    for number, (room, members) in enumerate(rooms.items()):
        known = project.rooms.get(room)
        name = f"{room}: {known.name}" if known and known.name else room or "Points without a room"
        tables = tuple(
            _circuits(project, f"{number}_{medium}", medium, own, left_out)
            for medium in MEDIA
            if (own := [one for one in members if one.medium == medium])
        )
        yield Section(title=name, blocks=tables, level=2, landscape=True)


def _circuits(project: Project, name: str, medium: str, own: Sequence[Criteria], left_out: Mapping[str, str]) -> Table:
    unit, foot = common.length_unit(project)
    timed = any(one.criterion("delay", PAIRS[0]) for one in own)
    delays = [_over(one.expected_delay_s, _NS) if timed else None for one in own]
    columns: list[tuple[Column, list[Cell]]] = [
        (Column(key="id", head="Circuit"), [one.id for one in own]),
        (Column(key="to", head="To"), [one.far_end for one in own]),
        (Column(key="cable", head="Cable"), [one.cable or None for one in own]),
        _optional("expected", "Length expected", unit, 0, [_over(one.expected_m, foot) for one in own]),
        _optional("loop", "Loop expected", "ohm", 2, [one.expected_loop_ohm for one in own]),
        _optional("delay", "Delay expected", "ns", 0, delays),
        _optional("volts", "Volts expected", "V", 2, [one.expected_volts for one in own]),
    ]
    for index, number in enumerate(_NUMBERS[medium]):
        found = [one.criterion(number.test, number.position) for one in own]
        shown_unit = next((one.unit for one in found if one is not None), "")
        values = [None if one is None else _over(_side(one, number.side), one.si) for one in found]
        columns.append(_optional(f"n{index}", number.head, shown_unit, number.decimals, values))
    columns.append((Column(key="remark", head="Remark"), [left_out.get(one.circuit) for one in own]))
    kept = [(column, cells) for column, cells in columns if any(cell is not None for cell in cells)]
    rows = list(zip(*(cells for _, cells in kept), strict=True))
    title = f"{MEDIA_WORDS[medium]}, {len(own):,}"
    return Table(name=f"circuits_{name}", title=title, columns=tuple(column for column, _ in kept), rows=rows)


def _optional(
    key: str, head: str, unit: str, decimals: int, values: Sequence[float | None]
) -> tuple[Column, list[Cell]]:
    return Column(key=key, head=head, kind="number", unit=unit, decimals=decimals), list(values)


def _over(value: float | None, si: float) -> float | None:
    return None if value is None else value / si


def _side(criterion: Criterion, side: Side) -> float | None:
    sides = {"expected": criterion.expected, "low": criterion.low, "high": criterion.high}
    return sides[side]
