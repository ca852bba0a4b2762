"""A battery's volts over its standby and alarm time, with the volts at which it counts as empty."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from estimator.documents.description import Picture
from estimator.documents.drawing import (
    BOLD,
    DASHED,
    FAINT,
    PLAIN,
    Disc,
    Drawing,
    Mark,
    Point,
    box_of,
    label,
    line,
    quiet,
    ticks,
)
from estimator.documents.shown import shown
from estimator.takeoff.batteries import BatterySheet
from estimator.takeoff.battery_figures import judged_start
from estimator.takeoff.battery_run import Discharge, rest_volts

_WIDTH_MM, _HEIGHT_MM = 165.0, 66.0
_TOP, _BOTTOM = 7.0, 54.0  # of the field that is drawn in [mm]
_STANDBY: Final = (14.0, 108.0)
_ALARM: Final = (116.0, 161.0)
"""Left and right of the two parts [mm]: each has a time of its own."""

_LAST_SHARE: Final = 0.07  # of the axis, from which its end has room for a number of its own
_LABEL_ROOM_MM: Final = 4.0


@dataclass(frozen=True, slots=True)
class _Field:
    """From seconds and volts to a place on the sheet."""

    ends: tuple[float, float]
    start_s: float
    end_s: float
    low_v: float
    high_v: float

    def at(self, time_s: float, volts: float) -> Point:
        """Return the place of a moment."""
        left, right = self.ends
        across = (time_s - self.start_s) / max(self.end_s - self.start_s, 1.0)
        return left + across * (right - left), self.level(volts)

    def level(self, volts: float) -> float:
        """Return how far down some volts stand."""
        return _BOTTOM - (volts - self.low_v) / (self.high_v - self.low_v) * (_BOTTOM - _TOP)


def battery_picture(one: BatterySheet) -> Picture | None:
    """Return the volts of a unit's set over standby and alarm, or None where there is no set to work out."""
    run = one.run
    if run is None:
        return None
    cutoff, start = rest_volts(one.unit.nominal_v)[0][1], judged_start(one)
    levels = {"cut-off": cutoff} | ({"circuits start from": start.limit} if start is not None else {})
    volts = [moment.volts for moment in run.moments]
    scale = ticks(min(*volts, *levels.values()) - 0.2, max(volts), 6)
    standby_s, whole_s = run.steps[0][1], sum(time_s for _, time_s in run.steps)
    fields = (
        _Field(_STANDBY, 0.0, standby_s, scale[0], scale[-1]),
        _Field(_ALARM, standby_s, whole_s, scale[0], scale[-1]),
    )
    marks = [*_frames(fields, scale), *_levels(fields[0], levels), *_curve(run, fields), *_ends(run, fields)]
    return Picture(
        name=f"discharge_{one.id}",
        title=f"Volts of the set of {one.id} over standby and alarm",
        alternative=_told(one, run, levels),
        drawing=Drawing(width_mm=_WIDTH_MM, height_mm=_HEIGHT_MM, marks=tuple(marks)),
        caption="Standby on the left, alarm on the right, each with its own time. An estimate, as the table of its "
        "moments says.",
    )


def _told(one: BatterySheet, run: Discharge, levels: dict[str, float]) -> str:
    points = "; ".join(f"{moment.time_s / 3600:.2f} h {moment.volts:.2f} V" for moment in run.moments)
    limits = ", ".join(f"{name} {volts:.2f} V" for name, volts in levels.items())
    end = f"The set is empty after {run.empty_s / 3600:.1f} h." if run.empty_s is not None else "It lasts."
    return f"Volts of the set of {one.id}: {points}. {limits[:1].upper()}{limits[1:]}. {end}"


def _frames(fields: tuple[_Field, _Field], scale: list[float]) -> Iterator[Mark]:
    """Yield the two fields with their grids and axes."""
    parts = ((fields[0], "Standby [h]", 3600.0, 8), (fields[1], "Alarm [min]", 60.0, 5))
    for number, (field, title, unit_s, most) in enumerate(parts):
        left, right = field.ends
        for volts in scale:
            y = field.level(volts)
            yield line((left, y), (right, y), stroke=FAINT)
            if number == 0:
                yield quiet((left - 1.5, y + 0.8), shown(volts, "number", 1), align="right")
        span = (field.end_s - field.start_s) / unit_s
        times = [time for time in ticks(0.0, span, most) if time <= span]
        if span - times[-1] > _LAST_SHARE * span:
            times.append(span)
        for time in times:
            x = field.at(field.start_s + time * unit_s, scale[0])[0]
            yield line((x, _TOP), (x, _BOTTOM), stroke=FAINT)
            yield quiet((x, _BOTTOM + 3.5), f"{time:.3g}", align="center")
        yield line((left, _TOP), (left, _BOTTOM), (right, _BOTTOM), stroke=PLAIN)
        yield label(((left + right) / 2, _BOTTOM + 8.5), title, align="center", bold=True)
    yield label((2.0, 4.0), "Set [V]", bold=True)


def _levels(field: _Field, levels: dict[str, float]) -> Iterator[Mark]:
    """Yield the limits as dashed lines through both fields; the higher is named above its line, the lower below."""
    ordered = sorted(levels.items(), key=lambda each: each[1])
    for number, (name, volts) in enumerate(ordered):
        y = field.level(volts)
        yield line((_STANDBY[0], y), (_ALARM[1], y), stroke=DASHED)
        text = f"{name} {shown(volts, 'number', 2)} V"
        below = number == 0 and y + _LABEL_ROOM_MM < _BOTTOM
        yield label((_STANDBY[0] + 2.0, y + 3.0 if below else y - 1.0), text)


def _curve(run: Discharge, fields: tuple[_Field, _Field]) -> Iterator[Mark]:
    for field in fields:
        points = [field.at(one.time_s, one.volts) for one in run.moments if field.start_s <= one.time_s <= field.end_s]
        if len(points) > 1:
            yield line(*points, stroke=BOLD)


def _ends(run: Discharge, fields: tuple[_Field, _Field]) -> Iterator[Mark]:
    """Yield dots with volts at the end of standby and of the alarm, or where the set is empty."""
    named = [
        (run.standby_end, fields[0]),
        (run.alarm_end or run.moments[-1], fields[1] if run.standby_end is not None else fields[0]),
    ]
    for moment, field in named:
        if moment is None:
            continue
        x, y = field.at(moment.time_s, moment.volts)
        yield Disc(center=(x, y), radius_mm=0.9, fill="ink", stroke=None)
        word = "empty, " if moment is run.moments[-1] and run.alarm_end is None else ""
        text = label((x - 1.0, max(y - 1.8, _TOP + 3.0)), f"{word}{moment.volts:.2f} V", align="right", bold=True)
        yield text if box_of(text).left > field.ends[0] else replace(text, at=(x + 1.0, text.at[1]), align="left")
