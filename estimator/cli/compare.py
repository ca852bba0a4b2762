"""The verb that sets two states of a job against each other: the bid against what is built."""

from __future__ import annotations

import contextlib
import sys
from argparse import Namespace
from collections.abc import Iterable, Sequence
from decimal import Decimal
from functools import partial
from typing import Final

from estimator.cli.show import columns, count, dump, loaded, worked_out
from estimator.spec.faults import one_of
from estimator.spec.model import Project
from estimator.takeoff.changes import Changes, CircuitChange, LineChange, Number, with_lengths
from estimator.takeoff.changes import compare as changes_between
from estimator.takeoff.takeoff import Takeoff, take_off
from estimator.units.rounding import significant
from estimator.units.table import FOOT_M

_ENDS: Final = "nothing was compared"


def compare(chosen: Namespace) -> int:
    """Print what changed from one file to the other, or from the bid to what was read; write the change order if asked.

    Where a program reads the output, the names of what was written go to the other stream.
    """
    pair = _two(chosen)
    if pair is None or _in_two_currencies(*pair):
        return 1
    before, after = pair
    read: int | None = None
    if chosen.built:
        after, read = _as_built(after)
    changes = changes_between(before, after)
    as_json = chosen.format == "json"
    print(dump(_json(changes, after.project, read)) if as_json else "\n".join(_text(changes, after.project, read)))
    if not chosen.write:
        return 0
    with contextlib.redirect_stdout(sys.stderr if as_json else sys.stdout):
        print()
        return _written(chosen, before, after, changes, read)


def _in_two_currencies(before: Takeoff, after: Takeoff) -> bool:
    """Return whether prices can't be compared, after saying so."""
    currencies = before.project.header.currency, after.project.header.currency
    if before.bid is None or after.bid is None or currencies[0] == currencies[1]:
        return False
    print(
        f"{after.project.file}: prices in {currencies[1]}, those of {before.project.file} in {currencies[0]};"
        " expected one currency; nothing is converted; mend `currency:` of one of them",
        file=sys.stderr,
    )
    return True


def _written(chosen: Namespace, before: Takeoff, after: Takeoff, changes: Changes, read: int | None) -> int:
    """Write the change order and say where it is."""
    from estimator.cli.finish import asked
    from estimator.cli.write import write
    from estimator.documents.change_order import Order, change_order
    from estimator.documents.output import safe_name

    finish = asked(chosen)
    if finish is None:
        return 1
    number = chosen.number
    known = [one.number for one in after.project.closeout.changes]
    if number and number not in known:
        print(
            f"{after.project.file}: no change {number!r} in its log; expected {one_of(known)};"
            " add it under `closeout: changes:`",
            file=sys.stderr,
        )
        return 1
    order = Order(before=before, after=after, changes=changes, number=number, read=read)
    name = safe_name(" ".join(filter(None, (after.project.name, "change order", number))), ".docx")
    make = partial(change_order, order, chosen.date, finish.templates)
    return write(chosen, after, {name: lambda: finish.word(make())}, finish)


def _two(chosen: Namespace) -> tuple[Takeoff, Takeoff] | None:
    """Return the two takeoffs, or None after printing why there are none."""
    if chosen.new is not None:
        before = worked_out(chosen.spec, _ENDS)
        after = worked_out(chosen.new, _ENDS)
        return None if before is None or after is None else (before, after)
    project = loaded(chosen.spec, _ENDS)
    if project is None:
        return None
    if project.baseline is None:
        print(
            f"{chosen.spec}: no bid to compare with; expected `baseline:` with the file that was bid, or a second file;"
            " name one of the two",
            file=sys.stderr,
        )
        return None
    after = worked_out(chosen.spec, _ENDS)
    return None if after is None else (take_off(project.baseline), after)


def _as_built(takeoff: Takeoff) -> tuple[Takeoff, int]:
    """Return the takeoff with the lengths that were read, and how many there were."""
    from estimator.field.built import built_cables
    from estimator.field.job import judge_job

    cables = built_cables(takeoff, judge_job(takeoff))
    lengths = {one.length.id: one.measured_m for one in cables if one.measured_m is not None}
    return with_lengths(takeoff, lengths), len(lengths)


def _json(changes: Changes, project: Project, read: int | None) -> dict[str, object]:
    return {
        "currency": project.header.currency,
        "lengths_read": read,
        "price": {
            "before": _number(changes.price_before),
            "after": _number(changes.price_after),
            "difference": _number(changes.price),
        },
        "labor_hours": {"before": changes.hours_before, "after": changes.hours_after},
        "crew_days": {"before": changes.days_before, "after": changes.days_after},
        "circuits": [
            {"id": one.id, "state": one.state, "what": one.what, "before_m": one.before_m, "after_m": one.after_m}
            for one in changes.circuits
        ],
        "cables": [
            {
                "id": one.id,
                "before_m": one.before_m,
                "after_m": one.after_m,
                "boxes_before": one.boxes_before,
                "boxes_after": one.boxes_after,
            }
            for one in changes.cables
        ],
        "material": [_line_json(one) for one in changes.material],
        "labor": [_line_json(one) for one in changes.labor],
        "build_up": [_line_json(one) for one in changes.steps],
    }


def _number(value: Number | None) -> float | str | None:
    """Return a number for a program; money as text, because it is exact."""
    return str(value) if isinstance(value, Decimal) else value


def _line_json(one: LineChange) -> dict[str, object]:
    return {
        "id": one.id,
        "name": one.name,
        "kind": one.kind,
        "state": one.state,
        "unit": one.unit,
        "before": _number(one.before),
        "after": _number(one.after),
        "amount_before": str(one.amount_before),
        "amount_after": str(one.amount_after),
        "amount": str(one.amount),
    }


def _text(changes: Changes, project: Project, read: int | None) -> Iterable[str]:
    yield from _price(changes, project.header.currency)
    if read is not None:
        yield f"as built: {count(read, 'length')} as read, the other circuits as expected"
    yield from _circuits(changes.circuits, project)
    yield from _cables(changes, project)
    if changes.price is None:
        return  # without prices on both sides nobody counted them
    for name, lines in (("material and other lines", changes.material), ("labor", changes.labor)):
        yield from _lines(name, lines)
    yield from _build_up(changes.steps)


def _price(changes: Changes, currency: str) -> Iterable[str]:
    if changes.price is None:
        yield "price: not both files have a price file, so only the work is compared"
        return
    yield f"price: {changes.price_before:,.2f} to {changes.price_after:,.2f} {currency} ({changes.price:+,.2f})"
    if changes.days_before is not None and changes.days_after is not None:
        yield f"crew days: {changes.days_before:.1f} to {changes.days_after:.1f}"


def _circuits(circuits: Sequence[CircuitChange], project: Project) -> Iterable[str]:
    counts = {state: sum(one.state == state for one in circuits) for state in ("added", "removed", "changed")}
    yield ""
    yield "circuits: " + ", ".join(f"{number} {state}" for state, number in counts.items())
    rows = [
        (one.id, one.state, _length(one.before_m, project), _length(one.after_m, project), one.what) for one in circuits
    ]
    unit = project.header.lengths_in
    yield from _table(("circuit", "", f"before [{unit}]", f"after [{unit}]", "what"), rows)


def _cables(changes: Changes, project: Project) -> Iterable[str]:
    rows = [
        (
            one.id,
            _length(one.before_m, project),
            _length(one.after_m, project),
            str(one.boxes_before),
            str(one.boxes_after),
            one.name,
        )
        for one in changes.cables
    ]
    unit = project.header.lengths_in
    heads = ("cable", f"before [{unit}]", f"after [{unit}]", "put-ups before", "put-ups after", "")
    yield from _table(heads, rows, "footage: the same")


def _lines(name: str, lines: Sequence[LineChange]) -> Iterable[str]:
    rows = [
        (one.id, one.state, _quantity(one.before), _quantity(one.after), one.unit, f"{one.amount:+,.2f}", one.name)
        for one in lines
    ]
    total = sum((one.amount for one in lines), Decimal("0.00"))
    yield from _table((name, "", "before", "after", "unit", "amount", ""), rows, f"{name}: the same")
    if rows:
        yield f"  together {total:+,.2f}"


def _build_up(steps: Sequence[LineChange]) -> Iterable[str]:
    rows = [(one.name, f"{one.amount_before:,.2f}", f"{one.amount_after:,.2f}", f"{one.amount:+,.2f}") for one in steps]
    yield from _table(("build-up", "before", "after", "difference"), rows, "build-up: the same")


def _table(heads: Sequence[str], rows: Sequence[Sequence[str]], nothing: str = "") -> Iterable[str]:
    """Yield an empty line and a table, or what to say where nothing stands in it."""
    if rows or nothing:
        yield ""
    yield from columns(heads, rows) if rows else filter(None, (nothing,))


def _length(value_m: float | None, project: Project) -> str:
    if value_m is None:
        return ""
    return f"{value_m:.1f}" if project.header.lengths_in == "m" else f"{value_m / FOOT_M:.1f}"


def _quantity(value: Number) -> str:
    return f"{significant(float(value), 6):,.6g}"
