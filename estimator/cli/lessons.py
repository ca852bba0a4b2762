"""The verb that tells what a job's lengths teach: bias, spread, and the rules that would have fitted."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Iterable
from dataclasses import asdict

from estimator.cli.show import columns, count, dump, worked_out
from estimator.field.job import judge_job
from estimator.field.learned import Exchanged, Learned, Ratio
from estimator.field.lessons import Fitted, Spread, fitted_rules, spreads
from estimator.takeoff.takeoff import Takeoff
from estimator.units.table import FACTORS


def lessons(chosen: Namespace) -> int:
    """Print how the lengths of a job came out against what was expected."""
    takeoff = worked_out(chosen.spec, "no lessons until they are mended")
    if takeoff is None:
        return 1
    learned = judge_job(takeoff).result.learned
    rules = fitted_rules(learned, takeoff.footage, takeoff.project)
    if chosen.format == "json":
        print(dump(_json(learned, rules)))
        return 0
    print("\n".join(_text(learned, rules, takeoff)))
    return 0


def _json(learned: Learned, rules: Iterable[Fitted]) -> dict[str, object]:
    return {
        "lengths": len(learned.samples),
        "spreads": [asdict(one) for one in spreads(learned)],
        "rules": [{**asdict(one), "told": one.told} for one in rules],
        "instruments": [{**asdict(one), "off": one.off} for one in learned.ratios],
        "exchanged": [
            {"first": one.first.circuit, "second": one.second.circuit, "chance": one.chance}
            for one in learned.exchanged
        ],
    }


def _text(learned: Learned, rules: tuple[Fitted, ...], takeoff: Takeoff) -> Iterable[str]:
    unit = takeoff.project.header.lengths_in
    yield f"{count(len(learned.samples), 'length')} by velocity beside what was expected"
    if not learned.samples:
        return
    yield ""
    yield from columns(
        ("by", "", "lengths", f"off [{unit}]", f"spread [{unit}]", "off [%]", "spread [%]"),
        [_spread(one, FACTORS["length"][unit]) for one in spreads(learned)],
    )
    yield ""
    heads = ("rule", "", "used", "would have fitted", "95 % interval", "lengths")
    yield from columns(heads, [_rule(one, unit) for one in rules])
    yield ""
    yield from columns(
        ("instrument", "", "reads [%]", "95 % interval", "than"), [_ratio(one) for one in learned.ratios]
    )
    for one in learned.ratios:
        if one.undecided:
            yield f"  {one.undecided}"
    yield from map(_exchanged, learned.exchanged)


def _spread(one: Spread, meters: float) -> tuple[str, ...]:
    numbers = (one.off_m / meters, one.spread_m / meters, one.off_share * 100, one.spread_share * 100)
    off, spread, off_share, spread_share = numbers
    return (
        one.by,
        one.name,
        str(one.count),
        f"{off:+.1f}",
        f"{spread:.1f}",
        f"{off_share:+.1f}",
        f"{spread_share:.1f}",
    )


def _rule(one: Fitted, unit: str) -> tuple[str, ...]:
    scale, mark = (0.01, "%") if one.unit == "share" else (FACTORS["length"][unit], unit)
    between = "" if one.low is None or one.high is None else f"{one.low / scale:.1f} to {one.high / scale:.1f}"
    return (
        one.rule,
        one.cable,
        f"{one.used / scale:.1f} {mark}",
        f"{one.fitted / scale:.1f} {mark}",
        between,
        str(one.count),
    )


def _ratio(one: Ratio) -> tuple[str, ...]:
    low, value, high = (100 * (each - 1) for each in (one.low, one.value, one.high))
    return (one.instrument or "not named", one.cable, f"{value:+.1f}", f"{low:+.1f} to {high:+.1f}", one.against)


def _exchanged(one: Exchanged) -> str:
    return f"{one.first.circuit} and {one.second.circuit}: each length fits the other's label"
