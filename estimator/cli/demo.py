"""The whole job on the demo project, from estimate to closeout, and the numbers to check first."""

from __future__ import annotations

from argparse import Namespace
from collections.abc import Callable, Iterator, Mapping, Sequence
from datetime import date
from pathlib import Path
from typing import Final

from estimator.cli.collect import outcome_for, print_report
from estimator.cli.finish import Finish, asked
from estimator.cli.labels import label_files
from estimator.cli.show import count, worked_out
from estimator.cli.write import Maker, closeout_files, criteria_files, estimate_files, put, write
from estimator.takeoff.takeoff import Takeoff, alerts_of, families_of
from estimator.takeoff.worked import Figure, figures
from estimator.units.table import FOOT_M

SPEC = "library.yaml"
SHEETS = "sheets"
EVIDENCE = "evidence"
WATCHED = (("battery.", ".installed"), ("nac.", ".worst_volts"), ("switch.", ".allocated"))
"""The figures that a person would check first, by the head and tail of their ids."""

PAPERS: Final[Sequence[tuple[str, Callable[[Takeoff, date | None, Finish], Mapping[str, Maker]]]]] = (
    ("the bid", estimate_files),
    ("the crew's papers", criteria_files),
    ("labels, ports and racks", label_files),
)
"""What is written before a reading comes back."""


def demo_folder() -> Path:
    """Return the folder of the demo project.

    An installed package carries it inside; a checkout keeps it under ``specs``.
    """
    inside = Path(__file__).resolve().parents[1] / "demo"
    return inside if inside.is_dir() else inside.parents[1] / "specs" / "library"


def demo(chosen: Namespace) -> int:
    """Copy the demo project, run the whole job on it and print where everything is."""
    chosen.out = chosen.out or "out/demo"
    finish = asked(chosen)
    if finish is None:
        return 1
    project = Path(chosen.out) / "project"
    if _copy(project, replace=chosen.replace):
        return 1
    takeoff = worked_out((project / SPEC).as_posix())
    if takeoff is None:
        return 1
    for title, makers in PAPERS:
        print(f"\n{title}")
        if write(chosen, takeoff, makers(takeoff, chosen.date, finish), finish):
            return 1
    print("\nthe field sheets that came back")
    _collect(takeoff, project)
    print("\nthe handover")
    if write(chosen, takeoff, closeout_files(takeoff, chosen.date, finish=finish), finish):
        return 1
    print("\ncheck these first")
    for line in _first_numbers(takeoff):
        print(f"  {line}")
    return 0


def _copy(project: Path, *, replace: bool) -> int:
    """Copy the demo project with its field sheets; 1 where something stands in the way."""
    source = demo_folder()
    print("the demo project")
    inside = (SHEETS, EVIDENCE)
    for folder, target in ((source, project), *((source / name, project / name) for name in inside)):
        endings = (".yaml", ".csv", ".xlsx", ".txt")
        files = {path.name: path.read_bytes() for path in sorted(folder.glob("*")) if path.suffix in endings}
        if files and put(target, files, replace=replace):
            return 1
    return 0


def _collect(takeoff: Takeoff, project: Path) -> None:
    from estimator.field.collect import collect

    sheets, evidence = (sorted((project / name).glob("[!.]*")) for name in (SHEETS, EVIDENCE))
    report = collect(takeoff.project, sheets, evidence=evidence)
    print_report(report, outcome_for(takeoff.project, report))


def _first_numbers(takeoff: Takeoff) -> Iterator[str]:
    """Yield the few numbers that a person would check first."""
    from estimator.field.job import judge_job

    if takeoff.bid is not None:
        yield f"price: {takeoff.bid.price:,.2f} {takeoff.project.header.currency}"
    for order in takeoff.orders:
        boxes = "1 box" if order.boxes == 1 else f"{order.boxes} boxes"
        yield f"order {order.cable.id}: {boxes} for {order.total_m / FOOT_M:,.0f} ft"
    for figure in figures(families_of(takeoff)):
        if any(figure.id.startswith(head) and figure.id.endswith(tail) for head, tail in WATCHED):
            yield _judged(figure)
    alerts = alerts_of(takeoff)
    yield f"warnings of the bid: {len(alerts)}"
    result = judge_job(takeoff).result
    words: dict[str, int] = {}
    for circuit in result.circuits:
        words[circuit.word] = words.get(circuit.word, 0) + 1
    yield "circuits: " + ", ".join(f"{number} {word}" for word, number in words.items())
    state = "complete" if result.complete else "not complete"
    yield f"punch list: {count(len(result.open_items), 'open item')}; the job is {state}"


def _judged(figure: Figure) -> str:
    verdict = f", {figure.judged.word} (limit {figure.judged.limit:g} {figure.unit})" if figure.judged else ""
    return f"{figure.id}: {figure.value:.5g} {figure.unit}{verdict}"
