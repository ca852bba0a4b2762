"""Figures of direct-current wiring."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Final

from estimator.calc.battery import TOTAL
from estimator.calc.conductor import PAIR_LOOP
from estimator.calc.dc_circuit import CONSTANT_POWER, END_OF_LINE, PERCENT_DROP, RUN
from estimator.calc.lock import STAGED
from estimator.spec.model import Project
from estimator.takeoff.columns import column, filled
from estimator.takeoff.dc_circuits import DcCircuits, SupplyLoad
from estimator.takeoff.dc_lines import (
    BRANCH,
    BY_CURRENT,
    BY_POWER,
    LADDER,
    NAC,
    OPENED_TOO_LOW,
    TOO_LOW,
    WORKS,
    DcLine,
)
from estimator.takeoff.loop_figures import loop_families
from estimator.takeoff.worked import MARGIN, Family, Input, Judged
from estimator.units.rounding import over, under

POINT_TO_POINT: Final = "NFPA 72 practice, point-to-point method; Kirchhoff's laws"
LUMPED: Final = "NFPA 72 practice, lumped-load method"
LADDER_METHOD: Final = "ladder: exact for constant currents, Newton for constant power"
REACH_METHOD: Final = "conductor's resistance doubled and halved until the line just works, by what decides it"
OPENED_METHOD: Final = "every wire of the loop opened in turn, ladder from both ends"


def dc_families(dc: DcCircuits, project: Project) -> Iterable[Family]:
    """Yield the figures of notification circuits, DC branches, loops and supplies."""
    nac = [line for line in dc.lines if line.basis.what == NAC]
    branches = [line for line in dc.lines if line.basis.what == BRANCH]
    yield from filled(
        (
            *_nac_families(nac, project),
            *_branch_families(branches),
            *loop_families(dc.loops),
            column(("supply", "load", "largest lasting current of all it feeds", "A"), TOTAL, "sum of all loads",
                   dc.supplies, lambda one: one.total_a, lambda one: _supply_inputs(one, one.each_a),
                   judge=judged_supply),
            column(("supply", "inrush", "everything switched on at once", "A"), TOTAL, "sum of all loads",
                   dc.supplies, lambda one: one.surge_a, lambda one: _supply_inputs(one, one.inrush_a)),
            column(("supply", "staged_start", "switched on one after another", "A"), STAGED, "Kirchhoff's current law",
                   dc.supplies, lambda one: one.staged_a, _staged_inputs),
        )
    )  # fmt: skip


def _nac_families(lines: list[DcLine], project: Project) -> Iterable[Family]:
    yield column(("nac", "current", "current in alarm", "A"), TOTAL, "sum of its appliances", lines,
                 lambda one: one.total_a, _current_inputs, judge=judged_rating)  # fmt: skip
    yield column(("nac", "end_of_line_volts", "volts with all current at the far end", "V"), END_OF_LINE, LUMPED, lines,
                 lambda one: one.end_v, _end_inputs, judge=lambda one: _judged_end(one, project))  # fmt: skip
    yield column(("nac", "percent_drop", "drop with all current at the far end", "%"), PERCENT_DROP,
                 "usual definition", lines, lambda one: one.percent, _percent_inputs,
                 judge=lambda one: _judged_nac_percent(one, project))  # fmt: skip
    yield column(("nac", "worst_volts", "volts at the worst appliance", "V"), None, POINT_TO_POINT, lines,
                 lambda one: one.worst_v, _ladder_inputs, judge=_judged_volts, method=LADDER_METHOD)  # fmt: skip
    yield _opened_family("nac", "appliance", lines)
    yield from _reach_families("nac", lines)


def _opened_family(what: str, device: str, lines: list[DcLine]) -> Family:
    meaning = f"volts at the worst {device}, loop opened at its worst wire"
    source = "NFPA 72 chapter 12, class A works past one open"
    return column((what, "opened_volts", meaning, "V"), None, source, lines, lambda one: one.opened_v, _opened_inputs,
                  judge=_judged_opened, method=OPENED_METHOD)  # fmt: skip


def _reach_families(what: str, lines: list[DcLine]) -> Iterable[Family]:
    limited = [line for line in lines if line.reach.longest_m is not None]
    yield column((what, "largest_conductor", "largest resistance of one conductor that works", "ohm/m"), None,
                 "Kirchhoff's laws", limited, lambda one: one.reach.largest_ohm_per_m, _ladder_inputs,
                 method=REACH_METHOD)  # fmt: skip
    yield column((what, "longest_run", "longest one-way run that works, distances in proportion", "m"), RUN,
                 "Ohm's law", limited, lambda one: one.reach.longest_m, _run_inputs, judge=_judged_run)  # fmt: skip
    yield column((what, "thinnest_gauge", "thinnest stocked gauge that works", "AWG"), None,
                 "selection among the stocked gauges", lines, _thinnest, _ladder_inputs,
                 method="stocked gauges by resistance, thinnest first")  # fmt: skip


def _branch_families(lines: list[DcLine]) -> Iterable[Family]:
    yield column(("dc", "loop", "wire there and back", "ohm"), PAIR_LOOP, "circuit theory", lines,
                 lambda one: one.loop_ohm, _wire_inputs)  # fmt: skip
    yield column(("dc", "current", "current of the branch", "A"), None, "Kirchhoff's laws", lines,
                 lambda one: one.total_a, _ladder_inputs, judge=judged_rating, method=LADDER_METHOD)  # fmt: skip
    figure = ("dc", "worst_volts", "volts at the worst device", "V")
    for how, formula, inputs in (
        (BY_CURRENT, END_OF_LINE, _end_inputs),
        (BY_POWER, CONSTANT_POWER, _power_inputs),
        (LADDER, None, _ladder_inputs),
    ):
        chosen = [line for line in lines if line.basis.how == how]
        yield column(figure, formula, "circuit theory", chosen, lambda one: one.worst_v, inputs, judge=_judged_volts,
                     method="" if formula else LADDER_METHOD)  # fmt: skip
    yield column(("dc", "percent_drop", "largest drop on the branch", "%"), PERCENT_DROP, "usual definition", lines,
                 lambda one: one.percent, _percent_inputs,
                 judge=_judged_percent)  # fmt: skip
    yield column(("dc", "inrush_volts", "volts at the worst device, all at inrush", "V"), None, "circuit theory",
                 lines, inrush_v, _inrush_inputs, judge=_judged_inrush, method=LADDER_METHOD)  # fmt: skip
    yield _opened_family("dc", "device", lines)
    yield from _reach_families("dc", lines)


def _thinnest(line: DcLine) -> float | None:
    return None if line.reach.awg is None else float(line.reach.awg)


def _run_inputs(line: DcLine) -> Mapping[str, Input]:
    assert line.reach.largest_ohm_per_m is not None
    largest = Input(line.reach.largest_ohm_per_m, "ohm/m", f"{line.basis.what}.{line.id}.largest_conductor")
    return {**_wire_inputs(line), "largest_ohm_per_m": largest}


def _judged_run(line: DcLine) -> Judged:
    longest = line.reach.longest_m
    assert longest is not None
    word = "too short" if over(line.basis.wire_m, longest) else "reaches"
    return Judged(word, MARGIN(limit=longest, value=line.basis.wire_m), line.basis.wire_m, "one way as planned")


def inrush_v(line: DcLine) -> float | None:
    """Return the volts of the worst device with all devices at inrush [V]."""
    return None if line.inrush_worst is None or line.inrush_v is None else line.inrush_v[line.inrush_worst]


def _current_inputs(line: DcLine) -> Mapping[str, Input]:
    places = line.basis.places
    return {
        "quantity": Input(tuple(one.quantity for one in places), "pieces", ", ".join(one.name for one in places)),
        "each_a": Input(tuple(one.each.amps for one in places), "A", "; ".join(one.each.origin for one in places)),
    }


def _wire_inputs(line: DcLine) -> dict[str, Input]:
    basis = line.basis
    one_way = "distances to the last device" if len(basis.places) > 1 else f"{basis.length.kind}.{line.id}"
    return {"length_m": Input(basis.wire_m, "m", one_way), "ohm_per_m": basis.conductor.as_input()}


def _end_inputs(line: DcLine) -> dict[str, Input]:
    basis = line.basis
    if basis.what == NAC:
        total = Input(line.total_a, "A", f"nac.{line.id}.current")
    else:
        total = Input(basis.places[0].current_a, "A", basis.places[0].each.origin)
    return {"source_v": basis.source, "total_a": total, "source_ohm": basis.sag, **_wire_inputs(line)}


def _power_inputs(line: DcLine) -> dict[str, Input]:
    place = line.basis.places[0]
    power = Input(place.power_w, "W", f"{place.device.id}, {place.device.source.at('power')}")
    return {
        "source_v": line.basis.source,
        "loop_ohm": Input(line.loop_ohm, "ohm", f"dc.{line.id}.loop"),
        "power_w": power,
    }


def _ladder_inputs(line: DcLine) -> dict[str, Input]:
    basis, places = line.basis, line.basis.places
    names = ", ".join(one.name for one in places)
    return {
        "source_v": basis.source,
        "source_ohm": basis.sag,
        "ohm_per_m": basis.conductor.as_input(),
        "distance_m": Input(tuple(one.distance_m for one in places), "m", f"one way to {names}"),
        "current_a": Input(tuple(one.current_a for one in places), "A", f"constant currents of {names}"),
        "power_w": Input(tuple(one.power_w for one in places), "W", f"constant powers of {names}"),
        "minimum_v": Input(tuple(one.minimum_v for one in places), "V", "; ".join(o.minimum_origin for o in places)),
    }


def _opened_inputs(line: DcLine) -> dict[str, Input]:
    back = Input(line.basis.return_m, "m", f"return, {line.basis.length.source.at('return')}")
    assert line.opening is not None
    wire = Input(float(line.opening.wire), "", "worst wire to open: 0 leads to the first device")
    return {**_ladder_inputs(line), "return_m": back, "opened_wire": wire}


def _inrush_inputs(line: DcLine) -> dict[str, Input]:
    surges = tuple((one.device.inrush_a or one.each.amps) * one.quantity for one in line.basis.places)
    return {**_ladder_inputs(line), "inrush_a": Input(surges, "A", "inrush currents, all at once")}


def _percent_inputs(line: DcLine) -> Mapping[str, Input]:
    if line.end_v is not None:
        end = Input(line.end_v, "V", f"nac.{line.id}.end_of_line_volts")
    else:
        end = Input(min(line.volts), "V", "lowest volts on the branch")
    return {"source_v": line.basis.source, "end_v": end}


def _judged_volts(line: DcLine) -> Judged:
    place, volts = line.worst_place, line.worst_v
    assert volts is not None
    word = TOO_LOW if under(volts, place.minimum_v) else WORKS
    return Judged(word, volts - place.minimum_v, place.minimum_v, f"{place.name}: {place.minimum_origin}")


def _judged_opened(line: DcLine) -> Judged | None:
    volts, place = line.opened_v, line.opened_place
    if volts is None:
        return None
    word = OPENED_TOO_LOW if under(volts, place.minimum_v) else WORKS
    return Judged(word, volts - place.minimum_v, place.minimum_v, f"{place.name}: {place.minimum_origin}")


def _judged_inrush(line: DcLine) -> Judged | None:
    volts = inrush_v(line)
    if volts is None or line.inrush_worst is None:
        return None
    place = line.basis.places[line.inrush_worst]
    word = TOO_LOW if under(volts, place.minimum_v) else WORKS
    return Judged(word, volts - place.minimum_v, place.minimum_v, f"{place.name}: {place.minimum_origin}")


def _judged_end(line: DcLine, project: Project) -> Judged | None:
    if project.rules.nac_decides != "end_of_line" or line.end_v is None:
        return None
    highest = max(place.minimum_v for place in line.basis.places)
    word = TOO_LOW if under(line.end_v, highest) else WORKS
    return Judged(word, line.end_v - highest, highest, "highest minimum of its appliances")


def _judged_nac_percent(line: DcLine, project: Project) -> Judged | None:
    return _judged_percent(line) if project.rules.nac_decides == "percent" else None


def _judged_percent(line: DcLine) -> Judged:
    assert line.percent is not None
    limit, source = 100 * line.basis.drop_limit, line.basis.most_drop.origin
    word = "over the limit" if over(line.percent, limit) else "within"
    return Judged(word, limit - line.percent, limit, source)


def judged_rating(line: DcLine) -> Judged | None:
    """Return the current of a line against its circuit's rating [A], or None where none is typed."""
    rating = line.basis.rating
    if rating is None or isinstance(rating.value, tuple):
        return None
    word = "over rating" if over(line.total_a, rating.value) else "within rating"
    return Judged(word, MARGIN(limit=rating.value, value=line.total_a), rating.value, rating.origin)


def _staged_inputs(one: SupplyLoad) -> Mapping[str, Input]:
    return {
        "total_a": Input(one.total_a, "A", f"supply.{one.id}.load"),
        "steps_a": Input(one.steps_a, "A", "inrush less lasting current of each"),
    }


def _supply_inputs(one: SupplyLoad, each: tuple[float, ...]) -> Mapping[str, Input]:
    names = "; ".join(one.names) or "nothing"
    return {"quantity": Input(one.quantity, "pieces", names), "each_a": Input(each, "A", names)}


def judged_supply(one: SupplyLoad) -> Judged:
    """Return the lasting current of a supply against its rating [A]."""
    assert not isinstance(one.rating.value, tuple)
    word = "over rating" if over(one.total_a, one.rating.value) else "within rating"
    return Judged(word, MARGIN(limit=one.rating.value, value=one.total_a), one.rating.value, one.rating.origin)
