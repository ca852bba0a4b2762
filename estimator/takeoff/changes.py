"""What changed between two states of a job: circuits, footage, material, labor and price, line by line.

Two project files (what was bid and what is built now), or one whose expected lengths are replaced by
those that were read, give two takeoffs; both went through the same arithmetic, so a difference is a
difference of the job.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from decimal import Decimal
from typing import Final, Literal

from estimator.calc.formula import Expression
from estimator.spec.model import Project
from estimator.takeoff.bill import Line
from estimator.takeoff.footage import Length, end_of
from estimator.takeoff.labor_hours import Task
from estimator.takeoff.orders import CableOrder, order_cables
from estimator.takeoff.price_build import price_job
from estimator.takeoff.takeoff import Takeoff

State = Literal["added", "removed", "changed", "same"]
Number = float | Decimal

DIFFERENCE: Final = Expression("after - before")
"""What a change adds [the unit of both]."""

_SAME_M: Final = 1e-9


@dataclass(frozen=True, kw_only=True, slots=True)
class CircuitChange:
    """A circuit that is new, gone, or other than it was; ``what`` says in words what is other."""

    id: str
    state: State
    what: str
    before_m: float | None
    after_m: float | None


@dataclass(frozen=True, kw_only=True, slots=True)
class CableChange:
    """A cable type: its expected footage and what is ordered, before and after."""

    id: str
    name: str
    before_m: float
    after_m: float
    boxes_before: int
    boxes_after: int


@dataclass(frozen=True, kw_only=True, slots=True)
class LineChange:
    """A line of the bill or a labor task: quantity (or hours) and amount, before and after."""

    id: str
    name: str
    kind: str
    unit: str
    before: Number
    after: Number
    amount_before: Decimal
    amount_after: Decimal

    @property
    def state(self) -> State:
        """Return whether the line is new, gone, other or the same."""
        if self.before == self.after and self.amount_before == self.amount_after:
            return "same"
        if not self.before and not self.amount_before:
            return "added"
        return "removed" if not self.after and not self.amount_after else "changed"

    @property
    def amount(self) -> Decimal:
        """Return what the change adds to the price's lines [money]."""
        return self.amount_after - self.amount_before


@dataclass(frozen=True, kw_only=True, slots=True)
class Reason:
    """Why the job changed: an entry of the change log, or an addendum, that the earlier file doesn't have."""

    kind: Literal["change", "addendum"]
    number: str
    name: str
    why: str
    asked_by: str
    day: date | None
    state: str


@dataclass(frozen=True, kw_only=True, slots=True)
class Changes:
    """Everything that is other; lines that are the same are left out, but those of the whole ``build_up``.

    Without prices there is no money, and without a crew there are no crew days.
    """

    circuits: tuple[CircuitChange, ...]
    cables: tuple[CableChange, ...]
    material: tuple[LineChange, ...]
    labor: tuple[LineChange, ...]
    steps: tuple[LineChange, ...]
    build_up: tuple[LineChange, ...]
    price_before: Decimal | None
    price_after: Decimal | None
    hours_before: float | None
    hours_after: float | None
    days_before: float | None
    days_after: float | None

    @property
    def price(self) -> Decimal | None:
        """Return what the price changes by, or None where one of the two has no price [money]."""
        if self.price_before is None or self.price_after is None:
            return None
        return self.price_after - self.price_before


def with_lengths(takeoff: Takeoff, lengths_m: Mapping[str, float]) -> Takeoff:
    """Return the takeoff with other lengths in place of the expected ones: orders and price anew.

    ``lengths_m`` goes from a circuit's id to its length [m]; a circuit that is not in it keeps its own.
    """
    own = [replace(one, expected_m=lengths_m.get(one.id, one.expected_m)) for one in takeoff.footage.lengths]
    footage = replace(takeoff.footage, lengths=tuple(own), by_id={one.id: one for one in own})
    orders = order_cables(footage, takeoff.project)
    bid = price_job(takeoff.project, footage, takeoff.fill, orders)
    return replace(takeoff, footage=footage, orders=orders, bid=bid)


def compare(before: Takeoff, after: Takeoff) -> Changes:
    """Return what changed from one takeoff to another, each list in the order of the later file."""
    bid, now = before.bid, after.bid
    return Changes(
        circuits=tuple(_circuits(before.footage.lengths, after.footage.lengths)),
        cables=tuple(_cables(before.orders, after.orders)),
        material=_changed(_lines(bid.lines if bid else ()), _lines(now.lines if now else ())),
        labor=_changed(_tasks(bid.labor.tasks if bid else ()), _tasks(now.labor.tasks if now else ())),
        steps=_changed(_steps(before), _steps(after)),
        build_up=_all(_steps(before), _steps(after)),
        price_before=bid.price if bid else None,
        price_after=now.price if now else None,
        hours_before=bid.labor.hours if bid else None,
        hours_after=now.labor.hours if now else None,
        days_before=bid.labor.days_shown if bid else None,
        days_after=now.labor.days_shown if now else None,
    )


def reasons(before: Project, after: Project) -> tuple[Reason, ...]:
    """Return the entries of change log and addenda that are new in the later file, or decided otherwise now."""
    known = {(one.number, one.state) for one in before.closeout.changes}
    logged = [
        Reason(
            kind="change",
            number=one.number,
            name=one.name,
            why=one.reason,
            asked_by=one.asked_by,
            day=one.day,
            state=one.state,
        )
        for one in after.closeout.changes
        if (one.number, one.state) not in known and one.state != "rejected"
    ]
    received = {one.number for one in before.scope.addenda}
    added = [
        Reason(kind="addendum", number=one.number, name=one.name, why="", asked_by="", day=one.day, state="received")
        for one in after.scope.addenda
        if one.number not in received
    ]
    return (*logged, *added)


def _circuits(before: Sequence[Length], after: Sequence[Length]) -> Iterable[CircuitChange]:
    was = {one.id.casefold(): one for one in before}
    for one in after:
        old = was.pop(one.id.casefold(), None)
        if old is None:
            yield CircuitChange(id=one.id, state="added", what=_told(one), before_m=None, after_m=one.expected_m)
        elif what := "; ".join(_other(old, one)):
            yield CircuitChange(id=one.id, state="changed", what=what, before_m=old.expected_m, after_m=one.expected_m)
    for old in was.values():
        yield CircuitChange(id=old.id, state="removed", what=_told(old), before_m=old.expected_m, after_m=None)


def _facts(one: Length) -> dict[str, str]:
    device = one.run.device.id if one.run and one.run.device else ""
    return {"cable": one.cable.id, "device": device, "room": one.room, "end": end_of(one) or ""}


def _told(one: Length) -> str:
    return ", ".join(f"{name} {value}" for name, value in _facts(one).items() if value)


def _other(old: Length, new: Length) -> Iterable[str]:
    was, now = _facts(old), _facts(new)
    for name, value in now.items():
        if was[name] != value:
            yield f"{name} {was[name] or 'none'} to {value or 'none'}"
    if abs(old.expected_m - new.expected_m) > _SAME_M:
        yield "length"


def _cables(before: Sequence[CableOrder], after: Sequence[CableOrder]) -> Iterable[CableChange]:
    was = {one.cable.id: one for one in before}
    for one in after:
        old = was.pop(one.cable.id, None)
        change = _cable(one, old, one)
        if abs(change.before_m - change.after_m) > _SAME_M or change.boxes_before != change.boxes_after:
            yield change
    for old in was.values():
        yield _cable(old, old, None)


def _cable(named: CableOrder, old: CableOrder | None, new: CableOrder | None) -> CableChange:
    return CableChange(
        id=named.cable.id,
        name=named.cable.name,
        before_m=old.total_m if old else 0.0,
        after_m=new.total_m if new else 0.0,
        boxes_before=old.boxes if old else 0,
        boxes_after=new.boxes if new else 0,
    )


@dataclass(frozen=True, slots=True)
class _Entry:
    name: str
    kind: str
    unit: str
    quantity: Number
    amount: Decimal


def _lines(lines: Iterable[Line]) -> dict[str, _Entry]:
    return {one.id: _Entry(one.name, one.kind, one.unit, one.quantity, one.amount) for one in lines}


def _tasks(tasks: Iterable[Task]) -> dict[str, _Entry]:
    return {one.id: _Entry(one.line.name, one.kind, "h", one.hours, one.amount) for one in tasks}


def _steps(takeoff: Takeoff) -> dict[str, _Entry]:
    if takeoff.bid is None:
        return {}
    build = takeoff.bid.build
    kinds = {f"kind.{kind}": _Entry(kind, "lines", "", 1, amount) for kind, amount in build.kinds.items()}
    return {**kinds, **{f"step.{one.name}": _Entry(one.name, "step", "", 1, one.amount) for one in build.steps}}


def _changed(before: Mapping[str, _Entry], after: Mapping[str, _Entry]) -> tuple[LineChange, ...]:
    return tuple(one for one in _all(before, after) if one.state != "same")


def _all(before: Mapping[str, _Entry], after: Mapping[str, _Entry]) -> tuple[LineChange, ...]:
    names = dict.fromkeys((*after, *before))
    return tuple(_change(name, before.get(name), after.get(name)) for name in names)


def _change(name: str, old: _Entry | None, new: _Entry | None) -> LineChange:
    named = new or old
    assert named is not None
    zero = Decimal("0.00")
    return LineChange(
        id=name,
        name=named.name,
        kind=named.kind,
        unit=named.unit,
        before=old.quantity if old else 0,
        after=new.quantity if new else 0,
        amount_before=old.amount if old else zero,
        amount_after=new.amount if new else zero,
    )
