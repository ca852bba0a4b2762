"""What a segment says that its kind cannot have, or that does not agree with itself."""

from __future__ import annotations

from pathlib import Path

import pytest

from estimator.spec.load import load

HEAD = "dropledger: 1\nproject: {name: Test, lengths_in: m}\nrooms: [{id: 1A}]\nnodes: [{id: a}]\n"
EMT = 'kind: conduit, trade_size: "1"'


def faults(folder: Path, segment: str) -> list[str]:
    """Return the faults of a job of one segment, without their places."""
    path = folder / "job.yaml"
    path.write_text(f"{HEAD}pathways: [{{id: S, from: 1A, to: a, length: 9 m, {segment}}}]\n", encoding="utf-8")
    return [str(fault).split(": ", 1)[1] for fault in load(path).faults]


@pytest.mark.parametrize(
    ("segment", "fault"),
    [
        (
            "kind: open, hook_load: 5 kg",
            "open 'S' has `hook_load`; expected `kind: j_hooks`; delete it, or mend the kind",
        ),
        (
            "kind: j_hooks, load: 5 kg/m",
            "j hooks 'S' has `load`; expected `kind: tray`; delete it, or mend the kind",
        ),
        (
            f"{EMT}, listed_fill_percent: 60",
            "conduit 'S' has `listed_fill_percent`; expected `kind: surface_raceway or cabinet`; ",
        ),
        ("kind: open, bends_at: [{at: 1 m, angle: 90 deg}]", "open 'S' has `bends_at`; expected `kind: conduit`; "),
        (
            f"{EMT}, rise: 1 m, bends_at: [{{at: 10.1 m, angle: 90 deg}}]",
            "a bend of 'S' lies at 10.1 m; expected at most 10 m, its length with its rise; ",
        ),
        (
            f"{EMT}, bends: 90 deg, bends_at: [{{at: 1 m, angle: 90 deg}}, {{at: 2 m, angle: 45 deg}}]",
            "'S' bends 90 degrees in all and 135 one by one; expected the same total; ",
        ),
        (
            f"{EMT}, bends_at: [{{at: 1 m, angle: 270 deg}}, {{at: 2 m, angle: 95 deg}}]",
            "conduit 'S' bends 365 degrees; expected at most 360 between pull points",
        ),
        (
            f"{EMT}, bends: 90 deg, bend_radius: 0.5 in",
            "bends of 'S' have a radius of 0.5 in; expected more than half the conduit, 0.5245 in; "
            "type the radius to the centerline",
        ),
        (
            "kind: j_hooks, spacing: 61 in",
            "hooks of 'S' are 61 in apart; expected at most 60 in (ANSI/TIA-569 and installer handbook",
        ),
        (
            "kind: tray, width: 4 in, depth: 4 in, near_power: [{distance: 4 in, rule: tia_1990}]",
            "the 1990 distances of 'S' go by the load of the power wiring; expected `load:` such as 3 kVA; "
            "add it, or delete `rule:`",
        ),
        ("kind: cabinet", "cabinet 'S' has no width or depth; expected `width:` and `depth:`; add both"),
    ],
)
def test_a_segment_that_contradicts_itself_is_a_fault(segment: str, fault: str, tmp_path: Path) -> None:
    """One line says what is wrong, what was expected and how to mend it."""
    found = faults(tmp_path, segment)
    assert len(found) == 1
    assert fault in found[0]


@pytest.mark.parametrize(
    "segment",
    [
        f"{EMT}, rise: 1 m, bends_at: [{{at: 10 m, angle: 90 deg}}, {{at: 0 m, angle: 45 deg}}], bends: 135 deg",
        f"{EMT}, bend_radius: 0.53 in, bends: 90 deg, friction: 0.35",
        "kind: j_hooks, spacing: 60 in, hook_load: 30 lb",
        "kind: tray, width: 4 in, depth: 4 in, load: 50 lb/ft, bottom: solid, "
        "near_power: [{distance: 4 in, rule: tia_1990, what: motors}, {distance: 3 in}]",
        "kind: surface_raceway, width: 1 in, depth: 1 in, listed_fill_percent: 60",
        "kind: cabinet, width: 6 in, depth: 6 in, listed_fill_percent: 50",
    ],
)
def test_what_agrees_passes(segment: str, tmp_path: Path) -> None:
    """At each limit itself nothing is wrong."""
    assert faults(tmp_path, segment) == []
