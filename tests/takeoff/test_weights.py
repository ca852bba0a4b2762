"""Weight on hooks and trays, against what they are rated for."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.takeoff.fill import fill_pathways
from estimator.takeoff.weights import Weight, weigh, weight_alerts, weight_families
from tests.takeoff.evaluated import held, measured

PLANT = """\
rooms: [{id: 1A}]
nodes: [{id: a}]
cables:
  - {id: C6, type: cat6_utp_plenum, weight: 40 kg/km}
  - {id: BARE, medium: two_conductor, gauge: 18, conductors: 2, jacket: CL2P, class: class_2, od: 4 mm, put_up: 300 m}
"""


def weighed(folder: Path, segment: str, cable: str = "C6", head: str = "") -> tuple[tuple[Weight, ...], list[str]]:
    """Return the weights of a job of one segment with 24 cables, and its warnings."""
    text = (
        f"{head}{PLANT}pathways: [{{id: S, from: 1A, to: a, length: 9 m, {segment}}}]\n"
        f"drops: [{{id: D1..D24, room: 1A, at: a, cable: {cable}}}]\n"
    )
    project, footage = measured(folder, text)
    weights = weigh(fill_pathways(footage, project), project)
    held(weight_families(weights, project))
    return weights, [str(alert).split(": ", 1)[1] for alert in weight_alerts(weights, project)]


# 24 cables of 40 g/m are 0.96 kg/m; at 1.5 m between hooks 1.44 kg hang on each (by hand).
@pytest.mark.parametrize(
    ("rating", "word", "warnings"),
    [("1.45 kg", "within rating", 0), ("1.44 kg", "within rating", 0), ("1.43 kg", "over rating", 1)],
)
def test_weight_on_a_hook(rating: str, word: str, warnings: int, tmp_path: Path) -> None:
    """The span to the next hook, half from either side; at its rating a hook is within it."""
    (one,), alerts = weighed(tmp_path, f"kind: j_hooks, spacing: 1.5 m, hook_load: {rating}")
    assert one.kg_per_m == pytest.approx(0.96, rel=1e-12)
    assert one.hook_kg == pytest.approx(1.44, rel=1e-12)
    assert (one.word, len(alerts)) == (word, warnings)
    if alerts:
        assert alerts[0].startswith(
            "weight: 24 cables weigh on each hook of j-hooks S: 1.44 kg, limit 1.43 kg (segment, "
        )
        assert alerts[0].endswith("; space the hooks closer")


@pytest.mark.parametrize(("rating", "word"), [("0.96 kg/m", "within rating"), ("0.6 lb/ft", "over rating")])
def test_weight_on_a_tray(rating: str, word: str, tmp_path: Path) -> None:
    """0.6 lb/ft are 0.893 kg/m (by hand)."""
    (one,), alerts = weighed(tmp_path, f"kind: tray, width: 4 in, depth: 4 in, load: {rating}")
    assert (one.word, one.hook_kg, one.value) == (word, None, one.kg_per_m)
    assert ["tray S: 1.0 kg/m, limit 0.9 kg/m" in alert for alert in alerts] == [True] * (word == "over rating")


def test_what_lies_there_already_weighs_too(tmp_path: Path) -> None:
    """Ten more cables make 1.36 kg/m (by hand)."""
    (one,), _ = weighed(tmp_path, "kind: tray, width: 4 in, depth: 4 in, existing: [{cable: C6, qty: 10}]")
    assert one.kg_per_m == pytest.approx(1.36, rel=1e-12)
    assert (one.rating, one.word) == (None, "not judged")


def test_a_rating_without_a_weight_is_told(tmp_path: Path) -> None:
    """The cable without a weight is named; without a rating nobody asks."""
    (one,), alerts = weighed(tmp_path, "kind: j_hooks, hook_load: 5 kg", "BARE")
    assert (one.unweighed, one.value, one.word) == (("BARE",), None, "not judged")
    assert len(alerts) == 1
    assert "the load of j-hooks S can't be judged: no weight of BARE, limit 5.0 kg" in alerts[0]
    assert alerts[0].endswith("; type `weight:` of the cable, such as 27 lb/kft")
    assert weighed(tmp_path, "kind: j_hooks", "BARE")[1] == []


def test_known_weights_alone_can_be_too_much(tmp_path: Path) -> None:
    """24 cables of 40 g/m hang 1.44 kg on a hook of 1 kg, whatever the one without a weight adds (by hand)."""
    lies = "kind: j_hooks, spacing: 1.5 m, existing: [{cable: BARE, qty: 1}]"
    (one,), alerts = weighed(tmp_path, f"{lies}, hook_load: 1 kg")
    assert (one.value, one.word, len(alerts)) == (None, "over rating", 1)
    assert "hooks S: 1.4 kg without BARE, whose weight is not known, limit 1.0 kg" in alerts[0]
    (one,), alerts = weighed(tmp_path, f"{lies}, hook_load: 2 kg")
    assert (one.word, len(alerts)) == ("not judged", 1)


def test_conduit_has_no_load_of_its_own(tmp_path: Path) -> None:
    """Only hooks and trays are rated for a weight."""
    assert weighed(tmp_path, 'kind: conduit, trade_size: "2"')[0] == ()
