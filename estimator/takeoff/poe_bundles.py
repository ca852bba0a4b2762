"""Powered bundles: what the adopted code's table must allow each conductor, and how warm jackets get.

The code's ampacity table is not part of this program: what it allows for a job's bundles is typed by
whoever holds the code (``bundle_ampacity``), or the amperes of a limited-power mark are. Without either
nothing is judged, and the current that the table must allow is shown. The rise of a bundle's
temperature is typed too (``bundle_rise_k``).
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from estimator.calc.formula import Expression
from estimator.calc.poe import TABLE_CURRENT, table_current_a
from estimator.reference.lookup import Row
from estimator.spec.model import Cable, Project
from estimator.takeoff.alerts import Alert
from estimator.takeoff.columns import column, filled
from estimator.takeoff.conductors import fact
from estimator.takeoff.footage import rule_origin
from estimator.takeoff.poe import PoE, Powered
from estimator.takeoff.worked import Family, Input, Judged
from estimator.units.rounding import over, under

CONDUCTOR: Final = Expression("source_w / source_v / powered_pairs")
"""Current in each conductor at the class's watts and the source's least volts [A]."""

WARMEST: Final = Expression("ambient_c + bundle_rise_c")
"""Temperature of a powered cable inside its bundle [°C]."""

WITHIN, MARKED, OVER, WARM, UNJUDGED = "within ampacity", "within its mark", "over ampacity", "too warm", "not judged"


@dataclass(frozen=True, kw_only=True, slots=True)
class Hot:
    """Cables of one type that carry one class, above the watts from which the code asks for an ampacity."""

    cable: Cable
    number: int
    source_v: float
    powered_pairs: int
    count: int
    source_w: float
    conductor_a: float
    ambient_c: float
    rated_c: float
    rated_from: str
    table_ambient: Row
    table_a: float | None  # None where the surroundings are as warm as the jacket may get
    allowed_a: float | None
    by_mark: bool  # held to the mark of a limited-power cable, which knows no ambient
    word: str

    @property
    def id(self) -> str:
        """Return the cable's name with the class."""
        return f"{self.cable.id}-class-{self.number}"

    @property
    def judged_a(self) -> float | None:
        """Return the current that is held against what is allowed [A]; None where nothing is."""
        if self.allowed_a is None:
            return None
        return self.conductor_a if self.by_mark else self.table_a


def rating_c(cable: Cable) -> tuple[float, str]:
    """Return the temperature that a cable's jacket is rated for [°C], and who says so."""
    if cable.typed is not None and cable.typed.rated_c is not None:
        return cable.typed.rated_c, f"cable {cable.id}, {cable.typed.source.at('temperature_rating')}"
    usual = fact("jacket_rating_usual", "poe_facts")
    return usual.number("value"), f"{usual.source}, none is typed"


def hot_cables(poe: PoE, project: Project) -> tuple[Hot, ...]:
    """Return the cables that carry more than the code's threshold, by type and class."""
    above = fact("code_table_above_w", "poe_facts").number("value")
    groups: dict[tuple[str, int], list[Powered]] = {}
    for one in poe.devices:
        if over(max(one.allocated_w, one.source_w), above):
            groups.setdefault((one.conductor.cable.id, one.power_class.number), []).append(one)
    return tuple(_hot(members, project) for members in groups.values())


def _hot(members: Sequence[Powered], project: Project) -> Hot:
    first, ambient_c = members[0], project.rules.ambient_c
    cable, power_class = first.conductor.cable, first.power_class
    rated_c, rated_from = rating_c(cable)
    row = fact("code_table_ambient", "poe_facts")
    source_w = max(power_class.source_w, *(one.source_w for one in members))
    known = {"source_w": source_w, "source_v": power_class.source_min_v}
    conductor_a = CONDUCTOR(**known, powered_pairs=power_class.powered_pairs)
    table_a = None
    if under(max(ambient_c, row.number("value")), rated_c):
        table_a = table_current_a(
            **known,
            powered_pairs=power_class.powered_pairs,
            rated_c=rated_c,
            ambient_c=ambient_c,
            table_ambient_c=row.number("value"),
        )
    allowed_a, by_mark, word = _judge(cable, conductor_a, table_a)
    return Hot(
        cable=cable,
        number=power_class.number,
        source_v=power_class.source_min_v,
        powered_pairs=power_class.powered_pairs,
        count=len(members),
        source_w=source_w,
        conductor_a=conductor_a,
        ambient_c=ambient_c,
        rated_c=rated_c,
        rated_from=rated_from,
        table_ambient=row,
        table_a=table_a,
        allowed_a=allowed_a,
        by_mark=by_mark,
        word=word,
    )


def _judge(cable: Cable, conductor_a: float, table_a: float | None) -> tuple[float | None, bool, str]:
    """Return what is typed as allowed [A], whether that is a mark, and the word: one of the two ways is enough."""
    typed = cable.typed
    tabled, marked = (None, None) if typed is None else (typed.bundle_a, typed.marked_a)
    if table_a is None:
        return tabled, False, WARM
    if marked is not None and not over(conductor_a, marked):
        return marked, True, MARKED
    if tabled is not None:
        return tabled, False, OVER if over(table_a, tabled) else WITHIN
    return marked, marked is not None, UNJUDGED if marked is None else OVER


def bundle_families(hot: Sequence[Hot], project: Project) -> Iterable[Family]:
    """Yield the current in a conductor, and what the code's table must allow it."""
    standard = "IEEE 802.3 clauses 33 and 145, class watts"
    figures = (
        column(("bundle", "conductor_current", "current in each conductor, at its class", "A"), CONDUCTOR, standard,
               hot, lambda one: one.conductor_a, _conductor_inputs,
               judge=lambda one: _judged(one) if one.by_mark else None),
        column(("bundle", "table_current", "ampacity to look for in the code's table", "A"), TABLE_CURRENT,
               f"{standard}; NFPA 70, Equation 310.15(B)(1)", hot, lambda one: one.table_a,
               lambda one: _table_inputs(one, project),
               judge=lambda one: None if one.by_mark else _judged(one)),
    )  # fmt: skip
    return filled(figures)


def _judged(one: Hot) -> Judged | None:
    typed, needed = one.cable.typed, one.judged_a
    if typed is None or needed is None or one.allowed_a is None:
        return None
    key = "limited_power" if one.by_mark else "bundle_ampacity"
    return Judged(one.word, one.allowed_a - needed, one.allowed_a, f"cable {one.cable.id}, {typed.source.at(key)}")


def _conductor_inputs(one: Hot) -> Mapping[str, Input]:
    origin = f"class {one.number} of IEEE 802.3"
    return {
        "source_w": Input(one.source_w, "W", f"{origin}, or what a port gives where that is more"),
        "source_v": Input(one.source_v, "V", f"{origin}, least volts of the source"),
        "powered_pairs": Input(float(one.powered_pairs), "", origin),
    }


def _table_inputs(one: Hot, project: Project) -> Mapping[str, Input]:
    return {
        **_conductor_inputs(one),
        "rated_c": Input(one.rated_c, "C", one.rated_from),
        "ambient_c": Input(one.ambient_c, "C", rule_origin(project, "ambient_c")),
        "table_ambient_c": Input(one.table_ambient.number("value"), "C", one.table_ambient.source),
    }


def bundle_alerts(hot: Sequence[Hot], poe: PoE, project: Project) -> Iterable[Alert]:
    """Yield what is wrong or not known about the heat of powered bundles."""
    for one in hot:
        if one.word not in (WITHIN, MARKED):
            yield _ampacity(one)
    yield from _warm_jackets(poe, project)
    rise = fact("bundle_rise_most", "poe_facts")
    if poe.devices and over(project.rules.bundle_rise_c, rise.number("value")):
        place = project.rules.ruled("bundle_rise_c").place
        assert place is not None
        yield Alert(
            place, "hot bundle", "bundle_rise_k", "powered bundles warm too much",
            f"{project.rules.bundle_rise_c:g} K", f"{rise.number('value'):g} K", rise.source, "make bundles smaller",
        )  # fmt: skip


def _ampacity(one: Hot) -> Alert:
    above, advised = fact("code_table_above_w", "poe_facts"), fact("bundle_cables_advised", "poe_facts")
    kind = {OVER: "over ampacity", WARM: "over ampacity"}.get(one.word, "ampacity of bundles")
    limit = "the code's ampacity for the bundle's size"
    if one.word == OVER:
        limit = f"{one.allowed_a:g} A"
    elif one.word == WARM:
        limit = f"surroundings under {one.rated_c:g} C"
    advice = f"keep bundles to {advised.number('value'):g} cables or fewer ({advised.source})"
    advice += " and type what the adopted code's table allows them as `bundle_ampacity`, or buy cable marked for "
    advice += "limited power and type its amperes as `limited_power`"
    at = "" if one.table_a is None else f", {one.table_a:.3f} A in a table for {one.table_ambient.number('value'):g} C"
    return Alert(
        one.cable.source.at(), kind, one.cable.id,
        f"{one.count} cables of type {one.cable.id} carry class {one.number}, more than {above.number('value'):g} W",
        f"{one.source_w:.1f} W, {one.conductor_a:.3f} A a conductor{at}", limit, above.source, advice,
    )  # fmt: skip


def _warm_jackets(poe: PoE, project: Project) -> Iterable[Alert]:
    rules = project.rules
    warm = WARMEST(ambient_c=rules.ambient_c, bundle_rise_c=rules.bundle_rise_c)
    cables = {one.conductor.cable.id: one.conductor.cable for one in poe.devices}
    for cable in cables.values():
        rated_c, origin = rating_c(cable)
        if over(warm, rated_c):
            yield Alert(
                cable.source.at(), "jacket too warm", cable.id,
                f"powered bundles of {cable.id} get warmer than its jacket may", f"{warm:g} C", f"{rated_c:g} C",
                f"NFPA 70, 800.27; {origin}", "make bundles smaller, or take a cable of a higher temperature rating",
            )  # fmt: skip
