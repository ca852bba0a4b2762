"""Whole circuits against engines of their own: exact fractions, a grid solver, a root finder; and what must hold."""

from __future__ import annotations

import math
from collections.abc import Sequence
from fractions import Fraction
from functools import partial

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from estimator.calc import dc_circuit
from estimator.calc.conductor import pair_loop_ohm
from estimator.calc.dc_circuit import Tap, Voltages
from estimator.calc.ladder import Load
from tests.calc.test_ladder import SOURCE_V, grid_volts

quick = settings(max_examples=40, deadline=None)
AMPS = st.integers(0, 300).map(lambda thousandths: Fraction(thousandths, 1000))
METERS = st.integers(0, 600).map(lambda tenths: Fraction(tenths, 10))
PLACES = st.lists(st.tuples(METERS, AMPS), min_size=1, max_size=8)
OHM_PER_M = Fraction(1, 50)


def taps_of(places: Sequence[tuple[Fraction, Fraction]], minimum_v: float = 16.0) -> list[Tap]:
    """Return a circuit of constant currents."""
    return [Tap(segment_m=float(length), current_a=float(amps), minimum_v=minimum_v) for length, amps in places]


def powered() -> st.SearchStrategy[list[Tap]]:
    """Return circuits of constant currents and powers together, which 24 V can feed."""
    tap = st.builds(
        Tap,
        segment_m=st.floats(0.5, 15),
        current_a=st.floats(0, 0.2),
        power_w=st.floats(0, 2),
        minimum_v=st.floats(0, 20),
        series_ohm=st.floats(0, 0.2),
    )
    return st.lists(tap, min_size=1, max_size=6)


def solved(taps: Sequence[Tap], *, ohm_per_m: float = 0.02, source_ohm: float = 0.0) -> Voltages:
    """Return a circuit's state from 24 V."""
    found = dc_circuit.point_to_point(source_v=SOURCE_V, ohm_per_m=ohm_per_m, taps=taps, source_ohm=source_ohm)
    assert found is not None
    return found


@quick
@given(places=PLACES, sag=st.integers(0, 20))
def test_point_to_point_equals_exact_fractions(places: list[tuple[Fraction, Fraction]], sag: int) -> None:
    """Each wire carries what lies beyond it, there and back, behind a source that sags."""
    volts = Fraction(24) - Fraction(sag, 100) * sum(amps for _, amps in places)
    found = solved(taps_of(places), ohm_per_m=float(OHM_PER_M), source_ohm=sag / 100)
    margins = []
    for index, (length, _) in enumerate(places):
        volts -= 2 * length * OHM_PER_M * sum(amps for _, amps in places[index:])
        assert found.places[index].volts == pytest.approx(float(volts), abs=1e-11)
        margins.append(volts - 16)
    assert found.margin_v == pytest.approx(float(min(margins)), abs=1e-11)
    assert found.total_a == pytest.approx(float(sum(amps for _, amps in places)), abs=1e-12)


@quick
@given(places=PLACES)
def test_end_of_line_equals_exact_fractions(places: list[tuple[Fraction, Fraction]]) -> None:
    """All current over all of the wire."""
    total, length = sum(amps for _, amps in places), sum(length for length, _ in places)
    expected = Fraction(24) - total * 2 * length * OHM_PER_M
    found = dc_circuit.end_of_line(source_v=24, ohm_per_m=float(OHM_PER_M), taps=taps_of(places))

    assert found is not None
    assert found.places[0].volts == pytest.approx(float(expected), abs=1e-11)


@quick
@given(taps=powered(), return_m=st.floats(0.5, 15), data=st.data())
def test_an_opened_loop_equals_a_grid_solver(taps: list[Tap], return_m: float, data: st.DataObject) -> None:
    """A loop with a wire open is two branches from one source, with constant powers on both."""
    wire = data.draw(st.integers(0, len(taps)))
    opened = dc_circuit.class_a_opened(source_v=SOURCE_V, ohm_per_m=0.02, taps=taps, return_m=return_m, wire=wire)
    assert opened.voltages is not None
    segments = [*(tap.segment_m for tap in taps), return_m]
    series = [*(tap.series_ohm for tap in taps), 0.0]

    def load(device: int, segment: int) -> Load:
        ohm = pair_loop_ohm(length_m=segments[segment], ohm_per_m=0.02) + series[segment]
        return Load(loop_ohm=ohm, current_a=taps[device].current_a, power_w=taps[device].power_w)

    out = [load(device, device) for device in range(wire)]
    back = [load(device, device + 1) for device in range(len(taps) - 1, wire - 1, -1)]
    branches = [branch for branch in (out, back) if branch]
    volts = grid_volts(branches)
    ahead = volts[0] if out else []
    behind = list(reversed(volts[-1])) if back else []
    assert [place.volts for place in opened.voltages.places] == pytest.approx([*ahead, *behind], rel=1e-8)


@quick
@given(taps=powered(), return_m=st.floats(0, 15), source_ohm=st.floats(0, 0.2))
def test_the_worst_opening_is_the_worst_of_all(taps: list[Tap], return_m: float, source_ohm: float) -> None:
    """No other wire leaves a device less; the first of equals is named."""
    wired = partial(dc_circuit.class_a_opened, source_v=24, ohm_per_m=0.02, taps=taps, return_m=return_m)
    margins = []
    for wire in range(len(taps) + 1):
        voltages = wired(wire=wire, source_ohm=source_ohm).voltages
        assert voltages is not None
        margins.append(voltages.margin_v)
    worst = dc_circuit.class_a_worst(source_v=24, ohm_per_m=0.02, taps=taps, return_m=return_m, source_ohm=source_ohm)

    assert worst.wire == margins.index(min(margins))
    assert worst.voltages is not None
    assert worst.voltages.margin_v == min(margins)


@quick
@given(taps=powered(), more_m=st.floats(0, 20), more_a=st.floats(0, 0.2), data=st.data())
def test_more_length_and_more_load_never_raise_a_voltage(
    taps: list[Tap], more_m: float, more_a: float, data: st.DataObject
) -> None:
    """Wherever it is added, no device gets more volts."""
    where = data.draw(st.integers(0, len(taps) - 1))
    tap = taps[where]
    longer, heavier = list(taps), list(taps)
    longer[where] = Tap(
        segment_m=tap.segment_m + more_m, current_a=tap.current_a, power_w=tap.power_w, series_ohm=tap.series_ohm
    )
    heavier[where] = Tap(
        segment_m=tap.segment_m, current_a=tap.current_a + more_a, power_w=tap.power_w, series_ohm=tap.series_ohm
    )
    before = [place.volts for place in solved(taps).places]
    for changed in (longer, heavier):
        found = dc_circuit.point_to_point(source_v=SOURCE_V, ohm_per_m=0.02, taps=changed)
        if found is not None:
            after = [place.volts for place in found.places]
            assert all(new <= old + 1e-9 for new, old in zip(after, before, strict=True))


@quick
@given(taps=powered(), share=st.floats(0, 1), data=st.data())
def test_splitting_a_segment_changes_nothing(taps: list[Tap], share: float, data: st.DataObject) -> None:
    """A splice without a load between two pieces of a wire leaves every voltage as it was."""
    where = data.draw(st.integers(0, len(taps) - 1))
    tap = taps[where]
    rest = Tap(
        segment_m=tap.segment_m * (1 - share),
        current_a=tap.current_a,
        power_w=tap.power_w,
        minimum_v=tap.minimum_v,
        series_ohm=tap.series_ohm,
    )
    split = [*taps[:where], Tap(segment_m=tap.segment_m * share), rest, *taps[where + 1 :]]
    whole, pieces = solved(taps), solved(split)

    volts = [place.volts for index, place in enumerate(pieces.places) if index != where]
    assert volts == pytest.approx([place.volts for place in whole.places], rel=1e-10)
    assert pieces.total_a == pytest.approx(whole.total_a, rel=1e-10)


@quick
@given(taps=powered())
def test_end_of_line_is_never_optimistic(taps: list[Tap]) -> None:
    """What is lumped at the end has at most the volts of the last device in its place."""
    lumped = dc_circuit.end_of_line(source_v=SOURCE_V, ohm_per_m=0.02, taps=taps)

    if lumped is not None:
        assert lumped.places[0].volts <= solved(taps).places[-1].volts + 1e-9


@quick
@given(minimum_v=st.floats(0, 23.9), current_a=st.floats(0, 3), power_w=st.floats(0, 60), source_ohm=st.floats(0, 0.2))
def test_greatest_loop_stands_at_the_edge(
    minimum_v: float, current_a: float, power_w: float, source_ohm: float
) -> None:
    """At the loop found the device gets its minimum; with a little more it gets less, or can't be fed at all."""
    assume(current_a > 1e-3 or power_w > 1e-3)
    loop = dc_circuit.greatest_loop_ohm(
        source_v=24, minimum_v=minimum_v, current_a=current_a, power_w=power_w, source_ohm=source_ohm
    )
    assume(0.01 < loop < 1e6)

    def volts(ohm: float) -> float:
        tap = Tap(segment_m=1, current_a=current_a, power_w=power_w)
        found = dc_circuit.point_to_point(source_v=24, ohm_per_m=ohm / 2, taps=[tap], source_ohm=source_ohm)
        return -math.inf if found is None else found.places[0].volts

    assert volts(loop * (1 - 1e-7)) >= minimum_v - 1e-6
    assert volts(loop * (1 + 1e-6)) <= max(minimum_v, 0.0) + 1e-9 or (minimum_v == 0.0 and power_w == 0.0)


@quick
@given(minimum_v=st.floats(12.5, 23.5), power_w=st.floats(0.5, 60), current_a=st.floats(0, 2))
def test_greatest_loop_agrees_with_a_root_finder(minimum_v: float, power_w: float, current_a: float) -> None:
    """The loop at which the device's volts come down to its minimum, found by bracketing."""
    found = dc_circuit.greatest_loop_ohm(source_v=24, minimum_v=minimum_v, current_a=current_a, power_w=power_w)

    def left_v(ohm: float) -> float:
        return 24 - ohm * (current_a + power_w / minimum_v) - minimum_v

    assert found == pytest.approx(brentq(left_v, 0, 1e4, xtol=1e-13), rel=1e-9)


@quick
@given(edge=st.floats(1e-6, 10), start=st.floats(1e-4, 1))
def test_largest_resistance_is_found_from_anywhere(edge: float, start: float) -> None:
    """Whatever it starts from, the search ends at the edge, on the side that works."""
    found = dc_circuit.largest_ohm_per_m(works=lambda ohm: ohm <= edge, start_ohm_per_m=start)

    assert found is not None
    assert found <= edge
    assert found == pytest.approx(edge, rel=1e-9)


@quick
@given(places=PLACES, tighter=st.floats(0, 4))
def test_longest_run_stands_at_the_edge(places: list[tuple[Fraction, Fraction]], tighter: float) -> None:
    """A circuit as long as it says, distances in proportion, leaves its worst device the minimum."""
    minimum_v = 16.0 + tighter
    taps = taps_of(places, minimum_v)
    assume(sum(length for length, _ in places) * sum(amps for _, amps in places) > 1)

    def works(ohm_per_m: float) -> bool:
        return solved(taps, ohm_per_m=ohm_per_m).margin_v >= 0.0

    largest = dc_circuit.largest_ohm_per_m(works=works, start_ohm_per_m=0.02)
    assert largest is not None
    if largest != math.inf:
        length_m = float(sum(length for length, _ in places))
        run_m = dc_circuit.longest_run_m(length_m=length_m, ohm_per_m=0.02, largest_ohm_per_m=largest)
        longer = [
            Tap(segment_m=tap.segment_m * run_m / length_m, current_a=tap.current_a, minimum_v=minimum_v)
            for tap in taps
        ]
        assert solved(longer).margin_v == pytest.approx(0.0, abs=1e-8)
