"""Figures and warnings of pulls: tension, what a cable bears, side walls, bends and pull points."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

from estimator.calc.pulling import (
    LEAST_RADIUS,
    PULL_POINTS,
    SHARED_TENSION,
    SIDEWALL,
    WORST_TENSION,
    sidewall_radius,
)
from estimator.reference.lookup import table
from estimator.spec.model import Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.cable_limits import grip
from estimator.takeoff.columns import column, filled
from estimator.takeoff.footage import shown_length
from estimator.takeoff.pulls import Pull, Turn, bend_rule, over_grip, sidewall_limit
from estimator.takeoff.worked import MARGIN, MARGIN_ABOVE, Family, Input, Judged
from estimator.units.quantity import in_unit
from estimator.units.rounding import over, under

MANUAL = "section formulas of a conduit construction manual"
BOTH_WAYS = "section by section from either end; the better end counts"


def pull_families(pulls: tuple[Pull, ...]) -> Iterable[Family]:
    """Yield the tension, the worst cable's part, side-wall pressure, bend radius and pull points of conduits."""
    return filled(_families(pulls))


def _families(pulls: tuple[Pull, ...]) -> Iterable[Family]:
    tension = ("segment", "pull_tension", "tension of the pull through it, all its cables at once", "N")
    plain = [pull for pull in pulls if not pull.segment.bends_at]
    placed = [pull for pull in pulls if pull.segment.bends_at]
    yield column(tension, WORST_TENSION, f"{MANUAL}; all bends at the pulled end", plain, _tension, _tension_inputs)
    yield column(tension, None, MANUAL, placed, _tension, _tension_inputs, method=BOTH_WAYS)
    yield column(
        ("segment", "cable_tension", "part of that tension that the worst cable bears", "N"),
        SHARED_TENSION,
        f"{MANUAL}: each cable's part goes by its weight",
        pulls,
        lambda pull: pull.tension.bearing.tension_n if pull.tension and pull.tension.bearing else None,
        _bearing_inputs,
        judge=_judge_bearing,
    )
    yield column(
        ("segment", "side_wall", "side-wall pressure at its worst bend", "N/m"),
        SIDEWALL,
        "wire technical guide",
        pulls,
        lambda pull: pull.sidewall_n_per_m,
        _sidewall_inputs,
        judge=_judge_sidewall,
    )
    yield from _turns(pulls)
    yield column(
        ("segment", "pull_points", "pull points to add between its ends", "pieces"),
        PULL_POINTS,
        table("bend_rules").source,
        pulls,
        lambda pull: float(pull.points),
        _points_inputs,
    )


def _turns(pulls: tuple[Pull, ...]) -> Iterable[Family]:
    yield column(
        ("segment", "bend_radius", "least inside radius of its bends", "m"),
        LEAST_RADIUS,
        table("bend_rules").source,
        pulls,
        lambda pull: pull.turn.least_m if pull.turn else None,
        _turn_inputs,
        judge=lambda pull: _judge_radius(pull.turn, pull.turn.least_m) if pull.turn else None,
    )
    yield column(
        ("segment", "cable_radius", "least bend radius of the cable in it that asks for most", "m"),
        LEAST_RADIUS,
        table("cable_bend_radius").source,
        pulls,
        lambda pull: (
            pull.turn.tightest[1].value if pull.turn and pull.turn.tightest and pull.turn.tightest[2] else None
        ),
        _cable_radius_inputs,
        judge=_judge_cable_radius,
    )


def _tension(pull: Pull) -> float | None:
    return pull.tension.tension_n if pull.tension else None


def _tension_inputs(pull: Pull) -> Mapping[str, Input]:
    assert pull.tension is not None
    at = pull.segment.source.at
    inputs = {
        "length": Input(pull.extent_m, "m", f"segment, {at('length')}, its rise in it"),
        "friction": Input(pull.friction.value, "", pull.friction.source),
        "rise": Input(pull.segment.rise_m, "m", f"segment, {at('rise')}, counted as pulled upward"),
        "weight": Input(pull.tension.weight_n_per_m, "N/m", "weights of all cables pulled, times gravity"),
        "bends_deg": Input(pull.segment.turns_deg, "deg", f"segment, {at('bends')}"),
    }
    if pull.segment.bends_at:
        del inputs["bends_deg"]
        for place, bend in enumerate(pull.segment.bends_at, 1):
            inputs[f"bend_{place}_at"] = Input(bend.at_m, "m", f"bend, {bend.source.at('at')}")
            inputs[f"bend_{place}_deg"] = Input(bend.angle_deg, "deg", f"bend, {bend.source.at('angle')}")
    return inputs


def _bearing_inputs(pull: Pull) -> Mapping[str, Input]:
    assert pull.tension is not None
    assert pull.tension.bearing is not None
    bearing = pull.tension.bearing
    return {
        "tension": Input(pull.tension.tension_n, "N", f"figure segment.{pull.id}.pull_tension"),
        "cable_weight": Input(bearing.weight_n_per_m, "N/m", f"weight of one {bearing.cable.id}, times gravity"),
        "weight": Input(pull.tension.weight_n_per_m, "N/m", "weights of all cables pulled, times gravity"),
    }


def _sidewall_inputs(pull: Pull) -> Mapping[str, Input]:
    assert pull.tension is not None
    assert pull.turn is not None
    return {
        "tension": Input(pull.tension.at_bend_n, "N", "highest tension at the exit of a bend"),
        "radius": Input(pull.turn.radius_m, "m", radius_origin(pull)),
    }


def radius_origin(pull: Pull) -> str:
    """Return in words where the inside radius of a conduit's bends came from."""
    if pull.segment.bend_radius_m is not None:
        return f"segment, {pull.segment.source.at('bend_radius')}, less half the inside diameter"
    return f"the least that {table('bend_rules').source} lets it have"


def _turn_inputs(pull: Pull) -> Mapping[str, Input]:
    assert pull.turn is not None
    turn, inside_m = pull.turn, pull.turn.least_m / pull.turn.least_multiple
    return {
        "multiple": Input(turn.least_multiple, "inside diameters", table("bend_rules").source),
        "diameter": Input(inside_m, "m", f"inside diameter, {table('conduit_table_4').source}"),
    }


def _cable_radius_inputs(pull: Pull) -> Mapping[str, Input]:
    assert pull.turn is not None
    assert pull.turn.tightest is not None
    cable, bound, multiple = pull.turn.tightest
    return {
        "multiple": Input(multiple, "outside diameters", bound.source),
        "diameter": Input(cable.od_m, "m", f"outside diameter of {cable.id}"),
    }


def _points_inputs(pull: Pull) -> Mapping[str, Input]:
    at, source = pull.segment.source.at, table("bend_rules").source
    return {
        "bends": Input(pull.segment.turns_deg, "deg", f"segment, {at('bends')}"),
        "most_bends": Input(bend_rule("tia_total_degrees"), "deg", source),
        "length": Input(pull.extent_m, "m", f"segment, {at('length')}, its rise in it"),
        "longest": Input(bend_rule("tia_length"), "m", source),
    }


def _judge_bearing(pull: Pull) -> Judged | None:
    if pull.tension is None or pull.tension.bearing is None:
        return None
    bearing = pull.tension.bearing
    margin = MARGIN(limit=bearing.limit.value, value=bearing.tension_n)
    return Judged(pull.word, margin, bearing.limit.value, bearing.limit.source)


def sidewall_word(pull: Pull) -> str:
    """Return how the side-wall pressure stands to its usual limit."""
    pressure = pull.sidewall_n_per_m
    return "" if pressure is None else "over" if over(pressure, sidewall_limit().value) else "within"


def _judge_sidewall(pull: Pull) -> Judged | None:
    pressure, limit = pull.sidewall_n_per_m, sidewall_limit()
    if pressure is None:
        return None
    return Judged(sidewall_word(pull), MARGIN(limit=limit.value, value=pressure), limit.value, limit.source)


def _judge_radius(turn: Turn, needed_m: float) -> Judged:
    word = "too tight" if under(turn.radius_m, needed_m) else "within"
    margin = MARGIN_ABOVE(value=turn.radius_m, limit=needed_m)
    return Judged(word, margin, turn.radius_m, "inside radius of its bends, as typed or the least by the standard")


def _judge_cable_radius(pull: Pull) -> Judged | None:
    if pull.turn is None or pull.turn.tightest is None:
        return None
    return _judge_radius(pull.turn, pull.turn.tightest[1].value)


def pull_alerts(pulls: tuple[Pull, ...], project: Project) -> Iterable[Alert]:
    """Yield a warning for every pull that is too long, too bent, too tight or too hard."""
    for pull in pulls:
        yield from _points(pull, project)
        yield from _hard(pull, project)
        yield from _tight(pull, project)


def _points(pull: Pull, project: Project) -> Iterable[Alert]:
    most_deg, longest_m = bend_rule("tia_total_degrees"), bend_rule("tia_length")
    place, source, segment = pull.segment.source.at("id"), table("bend_rules").source, pull.segment
    advice = points_advice(pull, project)
    if over(segment.turns_deg, most_deg):
        shown = f"{segment.turns_deg:g} deg", f"{most_deg:g} deg"
        text = f"conduit {segment.id} bends between pull points"
        yield Alert(place, "pull point", segment.id, text, *shown, source, advice)
    if over(pull.extent_m, longest_m):
        lengths = shown_length(pull.extent_m, project), shown_length(longest_m, project)
        text = f"conduit {segment.id} is long between pull points"
        yield Alert(place, "pull point", segment.id, text, *lengths, source, advice)


def points_advice(pull: Pull, project: Project) -> str:
    """Return what to do about a run that asks for pull points: how many, which box, or why it may stay."""
    boxes = "a pull box" if pull.points == 1 else f"{pull.points} pull boxes"
    advice = f"add {boxes} of at least {shown_box(pull, project)}" if pull.box else f"add {boxes}"
    return f"{advice}; {stay}" if (stay := may_stay(pull)) else advice


def may_stay(pull: Pull) -> str:
    """Return why a run may stay without a pull point though it has a third bend; empty where it may not."""
    stays = pull.excuse and not over(pull.extent_m, bend_rule("tia_length"))
    return f"the third bend may stay, as {pull.excuse}" if stays else ""


def shown_box(pull: Pull, project: Project) -> str:
    """Return the least box of a pull point in words, with its source."""
    box = pull.box
    assert box is not None
    unit = "mm" if project.header.lengths_in == "m" else "in"

    def size(value_m: float) -> str:
        return f"{in_unit(value_m, 'length', unit):.4g}"

    if box.width_m is not None and box.depth_m is not None:
        across = f"{size(box.width_m)} x {size(box.length_m)} x {size(box.depth_m)} {unit}"
    else:
        across = f"{size(box.length_m)} {unit} length"
    turned = f", {size(box.angle_m)} {unit} to the opposite wall of an angle pull" if box.angle_m else ""
    beside = f" for {box.conduits} conduits" if box.conduits > 1 else ""
    return f"{across}{turned}{beside} ({box.source})"


def shown_force(value_n: float, project: Project) -> str:
    """Return a force in the project's unit, newtons beside pounds."""
    if project.header.lengths_in == "m":
        return f"{value_n:.0f} N"
    return f"{in_unit(value_n, 'force', 'lbf'):.0f} lbf ({value_n:.0f} N)"


def _shown_pressure(value_n_per_m: float, project: Project) -> str:
    if project.header.lengths_in == "m":
        return f"{value_n_per_m:.0f} N/m"
    foot_m = in_unit(1.0, "length", "m") / in_unit(1.0, "length", "ft")
    return f"{in_unit(value_n_per_m * foot_m, 'force', 'lbf'):.0f} lbf/ft"


def ease(pull: Pull) -> str:
    """Return how a hard pull gets easier."""
    first = f"feed it from {pull.tension.feed}, " if pull.tension and pull.tension.feed else ""
    placed = pull.segment.bends_at or not pull.segment.turns_deg
    known = "" if placed else ", type `bends_at:` (all bends count at the pulled end)"
    return f"{first}add a pull point, pull fewer cables at once, or type the `friction:` of a lubricant{known}"


def _hard(pull: Pull, project: Project) -> Iterable[Alert]:
    place, name = pull.segment.source.at("id"), pull.id
    tension = pull.tension
    if tension is not None and tension.bearing is not None and tension.bearing.is_over:
        bearing = tension.bearing
        text = f"pulled through conduit {name}, a cable {bearing.cable.id} bears"
        limits = shown_force(bearing.tension_n, project), shown_force(bearing.limit.value, project)
        yield Alert(place, "pull tension", name, text, *limits, bearing.limit.source, ease(pull))
    if tension is not None and over_grip(pull):
        text = f"a grip pulls {pull.filled.cables} cables through conduit {name}"
        limits = shown_force(tension.tension_n, project), shown_force(grip().value, project)
        yield Alert(place, "pull tension", name, text, *limits, grip().source, ease(pull))
    if sidewall_word(pull) == "over":
        pressure, limit = pull.sidewall_n_per_m or 0.0, sidewall_limit()
        text = f"cables press on the side wall of a bend of conduit {name}"
        limits = _shown_pressure(pressure, project), _shown_pressure(limit.value, project)
        least_m = sidewall_radius(
            tension_n=tension.at_bend_n if tension is not None else 0.0, sidewall_max_n_per_m=limit.value
        )
        wider = f"use sweeps of {shown_radius(least_m, project)} or more inside"
        yield Alert(place, "side wall", name, text, *limits, limit.source, f"{wider}; {ease(pull)}")


def shown_radius(radius_m: float, project: Project) -> str:
    """Return a radius in the project's unit."""
    unit = "mm" if project.header.lengths_in == "m" else "in"
    return f"{in_unit(radius_m, 'length', unit):.3g} {unit}"


def _tight(pull: Pull, project: Project) -> Iterable[Alert]:
    turn = pull.turn
    if turn is None:
        return
    place, name = pull.segment.source.at("bend_radius" if pull.segment.bend_radius_m else "id"), pull.id
    if under(turn.radius_m, turn.least_m):
        text = f"bends of conduit {name} are tight, inside"
        least = f"{shown_radius(turn.least_m, project)} or more"
        yield Alert(
            place,
            "bend radius",
            name,
            text,
            shown_radius(turn.radius_m, project),
            least,
            table("bend_rules").source,
            "use wider sweeps",
        )
    if turn.tightest is not None and under(turn.radius_m, turn.tightest[1].value):
        cable, bound, _ = turn.tightest
        text = f"cable {cable.id} is bent in conduit {name}"
        least = f"{shown_radius(bound.value, project)} or more"
        yield Alert(
            place,
            "bend radius",
            name,
            text,
            shown_radius(turn.radius_m, project),
            least,
            bound.source,
            "use wider sweeps: `bend_radius:`",
        )
