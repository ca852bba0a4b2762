"""Limits over frequency against every point that an outside text prints."""

from __future__ import annotations

import cmath
import math
from functools import partial

import pytest

from estimator.calc import limit_line as lines
from estimator.reference.lookup import Row, table
from tests.calc.refusals import Refused
from tests.published import Check


def _line(row: Row) -> lines.LimitLine:
    return lines.limit_line(
        low_mhz=row.numbers("low_mhz"),
        high_mhz=row.numbers("high_mhz"),
        expr=row.texts("expr"),
        sense=str(row.cells.get("sense", "max")),
        cap_db=row.optional("cap_db"),
        floor_db=row.optional("floor_db"),
    )


def link(category: str, kind: str, parameter: str) -> lines.LimitLine:
    """Return one limit line of the table."""
    return _line(table("link_limits").find(category=category, link=kind, parameter=parameter))


def limit(category: str, kind: str, parameter: str, frequency_mhz: float) -> float:
    """Return one limit of the table [dB]."""
    return lines.limit_db(line=link(category, kind, parameter), frequency_mhz=frequency_mhz)


def component(part: str, category: str, parameter: str, frequency_mhz: float) -> float:
    """Return what a cable of 100 m or a connection does at a frequency [dB]."""
    row = table("link_components").find(component=part, category=category, parameter=parameter)
    return lines.limit_db(line=_line(row), frequency_mhz=frequency_mhz)


def _warm(cable: str, frequency_mhz: float, temperature_c: float, category: str) -> float:
    row = table("cable_temperature").find(cable=cable)
    factor = lines.warm_factor(
        temperature_c=temperature_c,
        reference_c=row.number("reference_c"),
        knee_c=row.number("knee_c"),
        low_per_k=row.number("low_per_k"),
        high_per_k=row.number("high_per_k"),
    )
    return factor * component("cable_100_m", category, "insertion_loss", frequency_mhz)


def _short_db(category: str, length_m: float, frequency_mhz: float) -> float:
    """Return the loss of a cable with a connection at either end [dB]."""
    return lines.expected_loss_db(
        length_m=length_m,
        cable_db_per_100m=component("cable_100_m", category, "insertion_loss", frequency_mhz),
        connections=2,
        connection_db=component("connector", category, "insertion_loss", frequency_mhz),
    )


def _short_margin_db(category: str, length_m: float, frequency_mhz: float) -> float:
    return lines.margin_db(
        sense="max",
        measured_db=_short_db(category, length_m, frequency_mhz),
        limit_db=limit(category, "permanent_link", "insertion_loss", frequency_mhz),
    )


CLAUSE = "ANSI/TIA-568-C.2 clause 6.4.7 over the cable's own loss; single"

CHECKS = [
    Check(
        discipline="copper_link",
        what="Category 6A cable loss of 100 m at 500 MHz [dB]",
        source="ANSI/TIA-568-C.2 cable, data sheet; single",
        expected=45.3,
        tolerance=0.05,
        obtained=partial(component, "cable_100_m", "6A", "insertion_loss", 500),
    ),
    Check(
        discipline="copper_link",
        what="Category 6A cable loss of 90 m at 500 MHz [dB]",
        source="ANSI/TIA-568-C.2 cable, data sheet; single",
        expected=40.73,
        tolerance=0.005,
        obtained=lambda: lines.expected_loss_db(
            length_m=90,
            cable_db_per_100m=component("cable_100_m", "6A", "insertion_loss", 500),
            connections=0,
            connection_db=0,
        ),
    ),
    *(
        Check(
            discipline="copper_link",
            what=f"Category 5e {cable} cable loss at 100 MHz and {celsius} °C [dB per 100 m]",
            source=CLAUSE,
            expected=expected,
            tolerance=0.006,
            why="the example rounds the loss at 20 °C, 21.975 dB, before and after",
            obtained=partial(_warm, cable, 100, celsius, "5e"),
        )
        for cable, celsius, expected in (
            ("unscreened", 20, 21.98),
            ("unscreened", 40, 23.73),
            ("unscreened", 60, 26.37),
            ("screened", 60, 23.73),
        )
    ),
    Check(
        discipline="copper_link",
        what="70 m of Category 6 cable at 250 MHz and 30 °C [dB]",
        source=CLAUSE,
        expected=23.91,
        tolerance=0.005,
        obtained=lambda: 0.70 * _warm("unscreened", 250, 30, "6"),
    ),
    *(
        Check(
            discipline="copper_link",
            what=f"Category {category} {part} {parameter} at 100 MHz [dB]",
            source="ANSI/TIA-568-C.2 components, one restated table; single",
            expected=printed,
            tolerance=0.05,
            obtained=partial(component, part, category, parameter, 100),
        )
        for part, category, parameter, printed in (
            ("cable_100_m", "5e", "insertion_loss", 22.0),
            ("cable_100_m", "6", "insertion_loss", 19.8),
            ("connector", "5e", "insertion_loss", 0.4),
            ("connector", "6", "insertion_loss", 0.2),
        )
    ),
    *(
        Check(
            discipline="copper_link",
            what=f"{what} [dB]",
            source="component sum of ANSI/TIA-568-C.2, worked by hand; memory",
            expected=expected,
            tolerance=0.005,
            obtained=obtained,
        )
        for what, expected, obtained in (
            ("loss of 45 m of Category 6 and two connections at 100 MHz", 9.31, partial(_short_db, "6", 45, 100)),
            ("its margin to the permanent link", 9.26, partial(_short_margin_db, "6", 45, 100)),
            ("loss of 62 m of Category 5e and two connections at 31.25 MHz", 7.72, partial(_short_db, "5e", 62, 31.25)),
            ("its margin to the permanent link's limit", 3.51, partial(_short_margin_db, "5e", 62, 31.25)),
        )
    ),
    Check(
        discipline="copper_link",
        what="power sum of 41.2, 44.6 and 52.3 dB [dB]",
        source="definition of the power sum; computed",
        expected=39.34,
        tolerance=0.005,
        obtained=lambda: lines.power_sum_db(losses_db=[41.2, 44.6, 52.3]),
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figure_comes_out(check: Check) -> None:
    """Every published point of a limit line is reproduced."""
    check.hold()


@pytest.mark.parametrize("row", tuple(table("link_limits")), ids=lambda row: "-".join(
    str(row.cells[key]) for key in ("category", "link", "parameter")
))  # fmt: skip
def test_every_line_spans_its_category_without_a_jump(row: Row) -> None:
    """Stretches meet, and join to 0.05 dB, from 1 MHz to the top of the category."""
    line = _line(row)

    top = {"5e": 100.0, "6": 250.0, "6A": 500.0}[row.text("category")]
    assert (line.segments[0].low_mhz, line.segments[-1].high_mhz) == (1.0, top)
    for below, above in zip(line.segments, line.segments[1:], strict=False):
        assert below.high_mhz == above.low_mhz
        meeting = (part.expression(f_mhz=below.high_mhz) for part in (below, above))
        assert math.isclose(*meeting, abs_tol=0.05)


# A permanent link is stricter than a channel: shorter, and with fewer connections.
@pytest.mark.parametrize("category", ["5e", "6", "6A"])
@pytest.mark.parametrize("parameter", ["insertion_loss", "next", "psnext", "acrf", "psacrf", "return_loss"])
def test_permanent_link_is_stricter_than_channel(category: str, parameter: str) -> None:
    """The margin of the channel's own limit against the permanent link's is never positive."""
    strict = link(category, "permanent_link", parameter)
    for frequency_mhz in (4, 10, 31.25, 100):
        loose_db = limit(category, "channel", parameter, frequency_mhz)
        strict_db = lines.limit_db(line=strict, frequency_mhz=frequency_mhz)
        assert lines.margin_db(sense=strict.sense, measured_db=loose_db, limit_db=strict_db) <= 0


def test_cap_bounds_crosstalk_and_floor_bounds_a_connector() -> None:
    """65 dB at 1 MHz in a Category 6 channel, 0.1 dB for one connector (ANSI/TIA-568-C.2)."""
    assert limit("6", "channel", "next", 1) == 65.0
    assert component("connector", "6", "insertion_loss", 1) == 0.1


def test_component_caps_stay_out_of_the_sum() -> None:
    """Category 5e channel at 4 MHz: 53.5 dB, and 51.5 dB with the capped hardware value."""
    capped_db = component("connector", "5e", "next", 4)
    cable_db = component("cable_100_m", "5e", "next", 4)
    wrong = lines.link_next_db(cable_db=cable_db, connection_db=capped_db, connections=2)

    assert limit("5e", "channel", "next", 4) == pytest.approx(53.5, abs=0.05)
    assert capped_db == 65.0
    assert wrong == pytest.approx(51.5, abs=0.05)


def test_frequency_outside_the_category_is_refused() -> None:
    """100 MHz is in, the next is not."""
    line = link("5e", "channel", "next")

    assert lines.limit_db(line=line, frequency_mhz=100) == pytest.approx(30.1, abs=0.05)
    with pytest.raises(ValueError, match=r"100.1 is outside the limit line, which spans 1 to 100"):
        lines.limit_db(line=line, frequency_mhz=100.1)


def test_power_sum_of_three_equal_disturbers() -> None:
    """Three equal pairs cost 10 log 3 = 4.77 dB (definition of the power sum)."""
    assert lines.power_sum_db(losses_db=[50, 50, 50]) == pytest.approx(50 - 10 * math.log10(3))
    with pytest.raises(ValueError, match=r"three other pairs, not \[50\]"):
        lines.power_sum_db(losses_db=[50])


def test_worst_return_loss_is_the_worst_over_all_lengths() -> None:
    """115 ohm in 100 ohm: 17.15 dB, the least of a sweep of lossless lines of every length."""
    worst = math.inf
    for step in range(1, 1800):
        turn = cmath.tan(math.pi * step / 1800)
        seen = 115 * (100 + 115j * turn) / (115 + 100j * turn)
        worst = min(worst, -20 * math.log10(abs((seen - 100) / (seen + 100))))

    assert lines.worst_return_loss_db(cable_ohm=115, system_ohm=100) == pytest.approx(worst, abs=1e-4)
    assert worst == pytest.approx(17.15, abs=0.005)
    with pytest.raises(ValueError, match="matches the system"):
        lines.worst_return_loss_db(cable_ohm=100, system_ohm=100)


def test_cold_cable_takes_no_credit() -> None:
    """Below 20 °C the loss stays that of 20 °C."""
    assert _warm("unscreened", 100, 5, "6") == _warm("unscreened", 100, 20, "6")


# Low-loss exemption of return loss below 3 dB (ANSI/TIA-568-C.2; ISO/IEC 11801; EN 50173-1).
def test_worst_margin_stands_at_its_own_frequency() -> None:
    """The worst value and the worst margin differ in frequency; an exempt point is neither."""
    line = link("6", "permanent_link", "return_loss")
    sweep = [(4.0, 20.0), (100.0, 14.5), (250.0, 11.0)]

    worst = lines.worst_point(line=line, points=sweep)
    assert worst is not None
    assert (worst.frequency_mhz, worst.margin_db) == (4.0, pytest.approx(-1.0))
    judged = lines.worst_point(line=line, points=sweep, losses_db=[2.9, 16.0, 26.0], below_loss_db=3.0)
    assert judged is not None
    assert (judged.frequency_mhz, judged.margin_db) == (100.0, pytest.approx(0.5))
    assert min(sweep, key=lambda point: point[1])[0] == 250.0


def test_all_exempt_is_not_judged() -> None:
    """A parameter without a judged point has no margin; a loss at the bound is judged."""
    line = link("6", "permanent_link", "return_loss")
    exempt = partial(lines.worst_point, line=line, points=[(1.0, 5.0), (4.0, 5.0)], below_loss_db=3.0)

    assert exempt(losses_db=[1.0, 2.999]) is None
    assert exempt(losses_db=[1.0, 3.0]) is not None
    assert exempt() is not None
    with pytest.raises(ValueError, match=r"a loss for each of 2 points, not \[1.0\]"):
        exempt(losses_db=[1.0])


def test_unknown_sense_is_refused() -> None:
    """A limit is either the most or the least."""
    with pytest.raises(ValueError, match="sense must be 'max' or 'min', not 'below'"):
        lines.margin_db(sense="below", measured_db=1, limit_db=2)
    with pytest.raises(ValueError, match="sense must be 'max' or 'min', not 'below'"):
        lines.limit_line(low_mhz=[1], high_mhz=[2], expr=["1"], sense="below")


LINE = lines.limit_line(low_mhz=[1.0], high_mhz=[250.0], expr=["30"], sense="min")

REFUSED = [
    Refused(
        possible=partial(
            lines.limit_line, low_mhz=[1.0], high_mhz=[250.0], expr=["30"], sense="min", cap_db=65.0, floor_db=0.0
        ),
        number="cap_db floor_db",
        wrong=(("low_mhz", [0.0]), ("high_mhz", [-1.0])),
    ),
    Refused(possible=partial(lines.limit_db, line=LINE, frequency_mhz=100.0), above_zero="frequency_mhz"),
    Refused(
        possible=partial(lines.margin_db, sense="max", measured_db=20.0, limit_db=21.5), number="measured_db limit_db"
    ),
    Refused(
        possible=partial(lines.judged_at, loss_db=2.9, below_loss_db=3.0),
        number="loss_db below_loss_db",
    ),
    Refused(
        possible=partial(lines.worst_point, line=LINE, points=[(10.0, 40.0)], losses_db=[2.0], below_loss_db=3.0),
        number="below_loss_db",
        wrong=(("losses_db", [math.nan]), ("points", [(10.0, math.nan)])),
    ),
    Refused(
        possible=partial(lines.power_sum_db, losses_db=[41.2, 44.6, 52.3]),
        wrong=(("losses_db", [41.2, 44.6, math.nan]),),
    ),
    Refused(
        possible=partial(lines.link_next_db, cable_db=44.3, connection_db=54, connections=2),
        zero_or_more="connections",
        number="cable_db connection_db",
    ),
    Refused(
        possible=partial(lines.expected_loss_db, length_m=45, cable_db_per_100m=19.8, connections=2, connection_db=0.2),
        zero_or_more="length_m cable_db_per_100m connections connection_db",
    ),
    Refused(
        possible=partial(
            lines.warm_factor, temperature_c=60, reference_c=20, knee_c=40, low_per_k=0.004, high_per_k=0.006
        ),
        zero_or_more="low_per_k high_per_k",
        number="temperature_c reference_c knee_c",
    ),
    Refused(
        possible=partial(lines.worst_return_loss_db, cable_ohm=115, system_ohm=100), above_zero="cable_ohm system_ohm"
    ),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused_by_name(refused: Refused) -> None:
    """As the formula's docstring says it raises, with the value in the message."""
    refused.hold()
