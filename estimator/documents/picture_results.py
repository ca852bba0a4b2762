"""What the tests of a job show: lengths against expectation, margins to the limits, progress by system."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

from estimator.acceptance.compare import margin_formula
from estimator.documents.common import in_length, length_unit
from estimator.documents.description import Picture
from estimator.documents.drawing import (
    BOLD,
    DASHED,
    FAINT,
    PLAIN,
    THIN,
    Disc,
    Drawing,
    Hatch,
    Mark,
    Shade,
    bar,
    cut,
    hatched,
    label,
    line,
    moved,
    quiet,
    ticks,
    words_mm,
)
from estimator.documents.job_readings import Shown, shown_readings
from estimator.documents.job_words import counted, system_name
from estimator.documents.shown import shown
from estimator.field.job import Job
from estimator.field.learned import Sample
from estimator.field.progress import Progress, by_system
from estimator.spec.model import Project
from estimator.units.rounding import over, under

# --- lengths -----------------------------------------------------------------------------------

_SQUARE_MM: Final = 72.0
_LEFT_MM, _TOP_MM = 16.0, 8.0
_HEADROOM: Final = 1.02  # above the longest length, so that its point keeps off the edge
_NAMED_MOST: Final = 6
MOST_POINTS: Final = 1500
"""Points of the scatter; of more lengths those farthest off their expectation are drawn."""


def lengths_picture(project: Project, job: Job) -> Picture | None:
    """Return measured lengths over expected ones with the band of the tolerance, or None where none was read."""
    samples = job.result.learned.samples
    if not samples:
        return None
    unit = length_unit(project)[0]
    most = max(max(one.measured_m, one.expected_m) for one in samples)
    scale = ticks(0.0, in_length(most, project) * _HEADROOM, 7)
    off = sorted(samples, key=lambda one: (-abs(one.off), one.circuit))
    wild = [one for one in off if _is_off(one, project)]
    marks = [*_axes(scale, unit), *_band(scale[-1], project), *_points(off[:MOST_POINTS], scale[-1], project)]
    marks += _named(wild[:_NAMED_MOST], project)
    inside = len(samples) - len(wild)
    return Picture(
        name="lengths_drawn",
        title="Measured length against expected",
        alternative=f"{counted(len(samples), 'length')}, {inside} within the tolerance, {len(wild)} outside it"
        + "".join(f"; {_length_words(one, project)}" for one in wild[:_NAMED_MOST])
        + ".",
        drawing=Drawing(width_mm=165.0, height_mm=_SQUARE_MM + _TOP_MM + 12.0, marks=tuple(marks)),
        caption=f"Each point is the last sound length of a circuit; on the line it is as expected. Dashed: the "
        f"tolerance of the house, {shown(project.rules.length_tolerance, 'percent', 0)} or "
        f"{shown(in_length(project.rules.length_tolerance_m, project), 'number', 0)} {unit}. A square is outside it."
        + (
            f" Of {len(samples)} lengths the {MOST_POINTS} farthest off are drawn."
            if len(samples) > MOST_POINTS
            else ""
        ),
    )


def _tolerance(expected_m: float, project: Project) -> float:
    return max(project.rules.length_tolerance * expected_m, project.rules.length_tolerance_m)


def _is_off(one: Sample, project: Project) -> bool:
    return over(abs(one.measured_m - one.expected_m), _tolerance(one.expected_m, project))


def _length_words(one: Sample, project: Project) -> str:
    measured, expected = (shown(in_length(each, project), "number", 0) for each in (one.measured_m, one.expected_m))
    return f"{one.circuit} measured {measured}, expected {expected} {length_unit(project)[0]}"


def _place(expected: float, measured: float, most: float) -> tuple[float, float]:
    return _LEFT_MM + expected / most * _SQUARE_MM, _TOP_MM + _SQUARE_MM * (1 - measured / most)


def _axes(scale: Sequence[float], unit: str) -> Iterator[Mark]:
    low, right = _TOP_MM + _SQUARE_MM, _LEFT_MM + _SQUARE_MM
    for value in scale:
        x, y = _place(value, value, scale[-1])
        yield line((_LEFT_MM, y), (right, y), stroke=FAINT)
        yield line((x, _TOP_MM), (x, low), stroke=FAINT)
        yield quiet((_LEFT_MM - 1.5, y + 0.8), f"{value:g}", align="right")
        yield quiet((x, low + 3.5), f"{value:g}", align="center")
    yield line((_LEFT_MM, _TOP_MM), (_LEFT_MM, low), (right, low), stroke=PLAIN)
    yield label((2.0, 4.0), f"Measured [{unit}]", bold=True)
    yield label((right, low + 8.5), f"Expected [{unit}]", align="right", bold=True)


def _band(most: float, project: Project) -> Iterator[Mark]:
    """Yield the line of equal lengths and, dashed, the edges of the tolerance, cut off at the field's edge."""
    yield line(_place(0.0, 0.0, most), _place(most, most, most), stroke=THIN)
    share, floor = project.rules.length_tolerance, in_length(project.rules.length_tolerance_m, project)
    knee = floor / share if share else most
    high = [(at, at + max(share * at, floor)) for at in (0.0, min(knee, most), most)]
    low = [(at, at - max(share * at, floor)) for at in (0.0, min(knee, most), most)]
    for edge in (high, low):
        inside = [point for pair in pairwise(edge) for point in _clipped(*pair, most)]
        if len(inside) > 1:
            yield line(*(_place(*point, most) for point in dict.fromkeys(inside)), stroke=DASHED)


def _clipped(start: tuple[float, float], end: tuple[float, float], most: float) -> list[tuple[float, float]]:
    """Return the part of a line whose height lies between zero and the most, as its two ends; empty without one."""
    (x1, y1), (x2, y2) = start, end
    if math.isclose(y1, y2):
        return [start, end] if 0 <= y1 <= most else []
    parts = sorted(((0.0 - y1) / (y2 - y1), (most - y1) / (y2 - y1)))
    first, last = max(0.0, parts[0]), min(1.0, parts[1])
    return [(x1 + (x2 - x1) * part, y1 + (y2 - y1) * part) for part in (first, last)] if first < last else []


def _points(samples: Sequence[Sample], most: float, project: Project) -> Iterator[Mark]:
    for one in samples:
        x, y = _place(in_length(one.expected_m, project), in_length(one.measured_m, project), most)
        if _is_off(one, project):
            yield bar(x - 0.9, y - 0.9, 1.8, 1.8, "ink", stroke=None)
        else:
            yield Disc(center=(x, y), radius_mm=0.75, fill="rule", stroke=THIN)


def _named(wild: Sequence[Sample], project: Project) -> Iterator[Mark]:
    """Yield the names of the lengths farthest off, in a list beside the field."""
    left, top = _LEFT_MM + _SQUARE_MM + 6.0, _TOP_MM + 3.0
    if wild:
        yield label((left, top), "Farthest off", bold=True)
    for row, one in enumerate(wild, start=1):
        y = top + 7.5 * row - 2.0
        name, _, rest = _length_words(one, project).partition(" measured ")
        yield bar(left, y - 2.0, 1.8, 1.8, "ink", stroke=None)
        yield label((left + 3.5, y), cut(name, 7.0, 44.0))
        yield quiet((left + 3.5, y + 3.0), cut(f"measured {rest}", 6.5, 44.0))


# --- margins -----------------------------------------------------------------------------------

MOST_TESTS: Final = 4
MOST_ROWS: Final = 10
_PANEL_MM: Final = (88.0, 62.0)
_NAME_MM: Final = 20.0
_FIGURE_MM: Final = 15.0
_ROW_MM: Final = 4.6


@dataclass(frozen=True, slots=True)
class Margin:
    """A circuit's least margin of one test, and the reading as shown."""

    circuit: str
    margin: float
    seen: Shown

    @property
    def reading(self) -> str:
        """Return what was read, with its unit."""
        return f"{shown(self.seen.number, 'number', self.seen.decimals)} {self.seen.unit}".strip()

    @property
    def decimals(self) -> int:
        """Return how many decimals it is shown with."""
        return self.seen.decimals


def margins(project: Project, job: Job) -> dict[tuple[str, str], list[Margin]]:
    """Return the margins by test and unit, each circuit's least, the least of all first; tests with most come first."""
    least: dict[tuple[str, str], dict[str, tuple[float, Shown]]] = {}
    every = shown_readings(job.result, project.header.lengths_in)
    for one in job.result.circuits:
        for reading in one.readings:
            criterion = reading.criterion
            if reading.why or criterion is None or (criterion.low is None and criterion.high is None):
                continue
            seen = every[id(reading)]
            formula = margin_formula(seen.low, seen.high)
            if formula is None or seen.number is None:
                continue
            given = {"reading": seen.number, "least": seen.low, "most": seen.high}
            margin = formula(
                **{name: value for name, value in given.items() if value is not None and name in formula.names}
            )
            own = least.setdefault((reading.label.partition(",")[0], seen.unit), {})
            so_far = own.get(one.id)
            if so_far is None or (margin < so_far[0] and under(margin, so_far[0])):
                own[one.id] = margin, seen
    ordered = sorted(least.items(), key=lambda each: (-len(each[1]), each[0]))
    return {key: _margins(own) for key, own in ordered}


def _margins(least: Mapping[str, tuple[float, Shown]]) -> list[Margin]:
    found = [Margin(circuit, margin, seen) for circuit, (margin, seen) in least.items()]
    return sorted(found, key=lambda each: (each.margin, each.circuit))


def margins_picture(project: Project, job: Job) -> Picture | None:
    """Return the least margins of the tests that most circuits had, or None where nothing has a margin."""
    found = list(margins(project, job).items())[:MOST_TESTS]
    if not found:
        return None
    marks: list[Mark] = []
    for number, (key, own) in enumerate(found):
        place = (number % 2 * (_PANEL_MM[0] + 2.0), number // 2 * _PANEL_MM[1])
        marks += moved(_panel(key, own), *place)
    told = " ".join(_margin_words(key, own) for key, own in found)
    return Picture(
        name="margins_drawn",
        title="Margin to the limit by circuit",
        alternative=f"The least margins of each test. {told}",
        drawing=Drawing(
            width_mm=2 * _PANEL_MM[0] + 2.0 if len(found) > 1 else _PANEL_MM[0],
            height_mm=math.ceil(len(found) / 2) * _PANEL_MM[1],
            marks=tuple(marks),
        ),
        caption=f"The heavy line is the limit. A bar to its right is room that is left; a hatched one to its left is "
        f"beyond the limit. Of each test the {MOST_ROWS} circuits with the least margin, the worst pair of each.",
    )


def _margin_words(key: tuple[str, str], own: Sequence[Margin]) -> str:
    rows = ", ".join(f"{one.circuit} {shown(one.margin, 'number', one.decimals)}" for one in own[:MOST_ROWS])
    return f"{key[0]} [{key[1]}]: {rows}."


def _panel(key: tuple[str, str], own: Sequence[Margin]) -> Iterator[Mark]:
    """Yield one test: a bar for each circuit, from the limit."""
    rows = own[:MOST_ROWS]
    unit = f" [{key[1]}]" if key[1] else ""
    beyond = sum(under(one.margin, 0.0) for one in own)
    head = f"{key[0]}: margin{unit}"
    count = f"{len(own)} circuits, {beyond} beyond the limit"
    yield label((1.0, 4.0), cut(head, 7.5, _PANEL_MM[0] - 40.0, bold=True), 7.5, bold=True)
    yield quiet((_PANEL_MM[0] - 2.0, 4.0), count, 6.0, align="right")
    low, high = min(0.0, rows[0].margin), max(0.0, rows[-1].margin)
    scale = ticks(low, high if high > low else low + 1.0, 5)
    left, right = _NAME_MM + 2.0, _PANEL_MM[0] - _FIGURE_MM
    across = (right - left) / (scale[-1] - scale[0])
    bottom = 7.0 + MOST_ROWS * _ROW_MM
    for value in scale:
        x = left + (value - scale[0]) * across
        yield line((x, 7.0), (x, bottom), stroke=FAINT)
        yield quiet((x, bottom + 3.2), f"{value:g}", 6.0, align="center")
    zero = left - scale[0] * across
    for row, one in enumerate(rows):
        yield from _margin_bar(one, zero, across, 7.0 + row * _ROW_MM)
    yield line((zero, 6.4), (zero, bottom), stroke=BOLD)


def _margin_bar(one: Margin, zero: float, across: float, top: float) -> Iterator[Mark]:
    high = _ROW_MM - 1.6
    y = top + 0.8
    long = one.margin * across
    if under(one.margin, 0.0):
        yield bar(zero + long, y, -long, high, "paper")
        yield from hatched(zero + long, y, -long, high, "crossed")
    elif long > 0:
        yield bar(zero, y, long, high, "rule", stroke=THIN)
    yield label((_NAME_MM, y + 2.3), cut(one.circuit, 6.5, _NAME_MM - 1.0), 6.5, align="right")
    yield quiet((_PANEL_MM[0] - 1.0, y + 2.3), cut(one.reading, 6.0, _FIGURE_MM - 1.5), 6.0, align="right")


# --- progress ----------------------------------------------------------------------------------

_PARTS: Final[tuple[tuple[str, str, Shade, Hatch], ...]] = (
    ("passed", "passed", "rule", ""),
    ("marginal", "marginal pass", "hair", "level"),
    ("excused", "waived or not sampled", "band", "rising"),
    ("failed", "failed", "muted", ""),
    ("incomplete", "incomplete", "paper", "crossed"),
    ("without", "not tested", "paper", ""),
)
"""What a bar is made of, in order: the count, its word, and a gray with a hatch of its own."""

_SYSTEM_MM: Final = 34.0
_BAR_MM: Final = 108.0
_BAR_ROW_MM: Final = 6.6


def progress_picture(job: Job) -> Picture:
    """Return a bar a system: how many circuits passed, failed, or wait."""
    systems = by_system(job.result)
    top = 17.0
    marks: list[Mark] = [*_progress_key()]
    for row, one in enumerate(systems):
        marks += moved(_progress_bar(one), 0.0, top + row * _BAR_ROW_MM)
    told = " ".join(f"{system_name(one.name)}: {_progress_words(one)}." for one in systems)
    return Picture(
        name="progress_drawn",
        title="Progress by system",
        alternative=told or "No circuit.",
        drawing=Drawing(width_mm=175.0, height_mm=top + len(systems) * _BAR_ROW_MM + 2.0, marks=tuple(marks)),
        caption="Each bar is all circuits of a system; its numbers count them. Complete: nothing is left to do.",
    )


def _counts(one: Progress) -> list[tuple[int, str, Shade, Hatch]]:
    return [(int(getattr(one, key)), word, shade, hatch) for key, word, shade, hatch in _PARTS]


def _progress_words(one: Progress) -> str:
    parts = ", ".join(f"{count} {word}" for count, word, _, _ in _counts(one) if count)
    return f"{counted(one.circuits, 'circuit')}, {parts or 'none'}; {shown(one.share, 'percent', 0)} complete"


def _progress_key() -> Iterator[Mark]:
    for number, (_, word, shade, hatch) in enumerate(_PARTS):
        x, y = 2.0 + number % 3 * 56.0, 3.0 + number // 3 * 6.0
        yield bar(x, y, 7.0, 3.6, shade)
        yield from hatched(x, y, 7.0, 3.6, hatch)
        yield label((x + 9.0, y + 2.7), word)


def _progress_bar(one: Progress) -> Iterator[Mark]:
    high = _BAR_ROW_MM - 2.4
    yield label((_SYSTEM_MM - 1.5, 3.0), cut(system_name(one.name), 7.0, _SYSTEM_MM - 3.0), align="right")
    x = _SYSTEM_MM
    for count, _, shade, hatch in _counts(one):
        if not count:
            continue
        wide = _BAR_MM * count / one.circuits
        yield bar(x, 0.0, wide, high, shade)
        yield from hatched(x, 0.0, wide, high, hatch)
        text = f"{count:,}"
        room = words_mm(text, 7.0, bold=True) + 1.6
        if wide > room:
            # On a patch of white, so that no hatch runs through the number.
            yield bar(x + wide / 2 - room / 2, 0.5, room, high - 1.0, "paper", stroke=None)
            yield label((x + wide / 2, 3.0), text, align="center", bold=True)
        x += wide
    yield label((_SYSTEM_MM + _BAR_MM + 2.0, 3.0), f"{shown(one.share, 'percent', 0)} complete")
