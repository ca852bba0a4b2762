"""Scope of the bid and what the turnover binder must hold."""

from __future__ import annotations

from datetime import date

from estimator.spec.fields import Block, Choice, Count, Day, ListOf, Name, Text, record, spec
from estimator.spec.nodes import Source
from estimator.spec.restricted import Restricted, RestrictedOrFile


@record
class Addendum:
    """An addendum received."""

    number: str = spec(Text(20), "number")
    day: date = spec(Day(), "date", key="date")
    name: str = spec(Text(200), "subject", default="")
    source: Source


@record
class Duty:
    """A piece of work and who does it."""

    work: str = spec(Text(160), "work")
    by: str = spec(Choice("us", "owner", "general_contractor", "electrician", "others"), "who does it")
    note: str = spec(Text(300), "remark", default="")
    source: Source


@record
class Scope:
    """What is in the price and what isn't."""

    summary: str = spec(Text(), "the work in a few sentences", default="")
    inclusions: tuple[str, ...] = spec(ListOf(Text()), "included", default=())
    exclusions: tuple[str, ...] = spec(ListOf(Text()), "not included", default=())
    clarifications: tuple[str, ...] = spec(ListOf(Text()), "clarifications", default=())
    addenda: tuple[Addendum, ...] = spec(ListOf(Block(Addendum)), "addenda received", default=())
    duties: tuple[Duty, ...] = spec(ListOf(Block(Duty)), "who does what", key="who_does_what", default=())
    hours: str = spec(Text(300), "working hours", default="")
    access: str = spec(Text(300), "access needed", default="")
    lead_times: tuple[str, ...] = spec(ListOf(Text(200)), "lead times", default=())
    payment: str = spec(Text(500), "payment terms", default="")
    source: Source


@record
class Person:
    """Somebody in the directory: a role with the firm, no private data."""

    role: str = spec(Text(80), "role")
    firm: str = spec(Text(120), "firm")
    contact: str = spec(Text(160), "how to reach them", default="")
    source: Source


@record
class Submittal:
    """A submittal and its review."""

    number: str = spec(Text(40), "number")
    name: str = spec(Text(200), "subject")
    state: str = spec(Choice("approved", "approved_as_noted", "submitted", "revise", "missing"), "review state")
    day: date | None = spec(Day(), "date", key="date", default=None)
    source: Source


@record
class Drawing:
    """An as-built drawing."""

    number: str = spec(Text(40), "number")
    name: str = spec(Text(200), "title")
    revision: str = spec(Text(20), "revision", default="")
    day: date | None = spec(Day(), "date", key="date", default=None)
    source: Source


@record
class Warranty:
    """A warranty with its start and end."""

    name: str = spec(Text(200), "what is covered")
    start: date | None = spec(Day(), "start", default=None)
    end: date | None = spec(Day(), "end", default=None)
    by: str = spec(Text(120), "given by", default="")
    source: Source


@record
class Training:
    """A training with its attendance."""

    name: str = spec(Text(200), "subject")
    day: date | None = spec(Day(), "date", key="date", default=None)
    attended: int | None = spec(Count(0, 1000, "people"), "people who attended", default=None)
    source: Source


@record
class Spare:
    """Spare parts handed over."""

    name: str = spec(Text(200), "part")
    count: int = spec(Count(0, 100000), "pieces", key="qty", default=1)
    source: Source


@record
class Change:
    """An entry of the change log."""

    number: str = spec(Text(20), "number")
    name: str = spec(Text(300), "what changed")
    day: date | None = spec(Day(), "date", key="date", default=None)
    state: str = spec(Choice("approved", "pending", "rejected"), "state", default="approved")
    reason: str = spec(Text(500), "why, for its change order", default="")
    asked_by: str = spec(Text(120), "who asked for it", default="")
    source: Source


@record
class Registered:
    """A device with what identifies it; its network address is typed under `restricted`."""

    circuit: str = spec(Name(), "circuit id")
    serial: str = spec(Text(80), "serial number", default="")
    mac: str = spec(Text(40), "MAC", default="")
    firmware: str = spec(Text(40), "firmware", default="")
    source: Source


@record
class FirestopEntry:
    """An entry of the firestop log."""

    segment: str = spec(Name(), "sleeve")
    system: str = spec(Text(80), "firestop system")
    day: date | None = spec(Day(), "date closed", key="date", default=None)
    by: str = spec(Text(120), "installed by", default="")
    source: Source


@record
class Closeout:
    """What the binder must hold; a part that is promised and empty is listed as missing."""

    must_hold: tuple[str, ...] = spec(
        ListOf(
            Choice(
                "directory",
                "permits",
                "submittals",
                "drawings",
                "warranties",
                "manuals",
                "training",
                "spares",
                "firestop",
                "certificates",
                "registers",
                "bonding",
                "sign_offs",
            ),
            split=True,
        ),
        "parts that the binder must hold",
        default=(),
    )
    directory: tuple[Person, ...] = spec(ListOf(Block(Person)), "directory", default=())
    permits: tuple[str, ...] = spec(ListOf(Text(200)), "permits and inspections", default=())
    submittals: tuple[Submittal, ...] = spec(ListOf(Block(Submittal)), "submittals", default=())
    drawings: tuple[Drawing, ...] = spec(ListOf(Block(Drawing)), "as-built drawings", default=())
    warranties: tuple[Warranty, ...] = spec(ListOf(Block(Warranty)), "warranties", default=())
    manuals: tuple[str, ...] = spec(ListOf(Text(200)), "O&M sheets handed over", default=())
    training: tuple[Training, ...] = spec(ListOf(Block(Training)), "training", default=())
    spares: tuple[Spare, ...] = spec(ListOf(Block(Spare)), "spare parts", default=())
    firestop: tuple[FirestopEntry, ...] = spec(ListOf(Block(FirestopEntry)), "firestop log", default=())
    registers: tuple[Registered, ...] = spec(ListOf(Block(Registered)), "device register", default=())
    changes: tuple[Change, ...] = spec(ListOf(Block(Change)), "change log", default=())
    restricted: Restricted | None = spec(
        RestrictedOrFile(), "what stands only in the restricted copy, best in a file of its own", default=None
    )
    signers: tuple[str, ...] = spec(ListOf(Text(120)), "roles that sign", default=())
    source: Source
