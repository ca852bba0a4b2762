"""What a job's lengths teach: middles, spreads and rules, worked by hand."""

from __future__ import annotations

from random import Random

import pytest

from estimator.field.learned import Learned, Sample
from estimator.field.lengths import learn
from estimator.field.lessons import SLACK, WASTE, fitted_rules, spreads
from tests.documents.job_sample import job, takeoff
from tests.field.test_lengths import Truth, generated


def sample(number: int, expected: float, measured: float, room: str = "1A") -> Sample:
    """Return a length of a circuit."""
    return Sample(
        circuit=f"C{number}", room=room, cable="C6", method="routed", instrument="T1", expected_m=expected,
        measured_m=measured,
    )  # fmt: skip


def test_middle_and_spread_of_each_group() -> None:
    """Five lengths of 50 m expected that read 49, 50, 51, 52 and 90 m: off by 1 m in the middle, spread by 1.4826 m."""
    # By hand: deviations from 51 are 2, 1, 0, 1, 39, their median 1; a normal sample's spread is 1.4826 of it.
    own = tuple(sample(number, 50, read) for number, read in enumerate((49.0, 50.0, 51.0, 52.0, 90.0)))
    found = {(one.by, one.name): one for one in spreads(Learned(samples=own))}
    assert set(found) == {("room", "1A"), ("cable", "C6"), ("method", "routed")}
    one = found["cable", "C6"]
    assert (one.count, one.off_m, one.off_share) == (5, pytest.approx(1.0), pytest.approx(0.02))
    assert one.spread_m == pytest.approx(1.4826, abs=5e-5)


def test_rules_never_fall_below_nothing() -> None:
    """Slack and waste have zero as their least."""
    assert WASTE(measured=110, expected=100) == pytest.approx(0.1)
    assert WASTE(measured=90, expected=100) == 0
    assert SLACK(used=3.0, more=2.0) == 5.0
    assert SLACK(used=1.0, more=-2.0) == 0


def test_a_slack_that_would_have_fitted_is_told() -> None:
    """2 m more on every run than reckoned: the rule that fits is 2 m above the one used, and the interval says so."""
    from dataclasses import replace

    names = [length.id for length in takeoff().footage.lengths]
    cable = takeoff().footage.lengths[0].cable.id
    samples = [
        replace(one, circuit=names[number % len(names)], cable=cable)
        for number, one in enumerate(generated(Random(5), Truth(count=400, slack_m=2.0)))
    ]
    rules = fitted_rules(learn(samples), takeoff().footage, takeoff().project)
    slack = next(one for one in rules if one.rule == "slack")
    assert slack.low is not None
    assert slack.high is not None
    assert slack.low <= slack.used + 2.0 <= slack.high
    assert slack.told


def test_the_demo_teaches_something_about_every_cable_it_read() -> None:
    """Each group of the sample job stands once, and its counts are the lengths read."""
    learned = job().result.learned
    found = spreads(learned)
    assert len({(one.by, one.name) for one in found}) == len(found)
    for by in ("room", "cable", "method"):
        assert sum(one.count for one in found if one.by == by) == len(learned.samples) > 50
