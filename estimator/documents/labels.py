"""What stands on every label: both ends of each cable, each port of a panel, each jack of an outlet."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from estimator.acceptance.criteria import Criteria, far_end_of, natural
from estimator.documents.id_list import guarded
from estimator.documents.job_words import words_of
from estimator.reference.lookup import table
from estimator.spec.labels import LabelSheet
from estimator.spec.model import Project, Run
from estimator.takeoff.footage import Length
from estimator.takeoff.takeoff import Takeoff

Kind = Literal["cable", "port", "outlet"]

HEADS: Final = ("of", "identifier", "to", "here", "end", "room", "cable", "system", "job")


@dataclass(frozen=True, kw_only=True, slots=True)
class Label:
    """One label: the identifier, where this end is, and where the other one is."""

    kind: Kind
    identifier: str
    to: str
    here: str
    end: str
    room: str
    cable: str
    system: str
    job: str

    def line(self, key: str) -> str:
        """Return what a line of the label says."""
        texts = {
            "id": self.identifier,
            "to": f"to {self.to}" if self.to else "",
            "here": self.here,
            "cable": self.cable,
            "system": self.system,
            "job": self.job,
        }
        return texts[key]


def all_labels(takeoff: Takeoff, circuits: Sequence[Criteria]) -> tuple[Label, ...]:
    """Return the labels of the job: cables in test order, both ends together, then ports, then outlets."""
    return (*cable_labels(takeoff, circuits), *_port_labels(takeoff), *_outlet_labels(takeoff, circuits))


def labels_for(sheet: LabelSheet, labels: Iterable[Label]) -> tuple[Label, ...]:
    """Return the labels that a sheet is for."""
    return tuple(
        one
        for one in labels
        if one.kind in sheet.of
        and (not sheet.cables or one.cable in sheet.cables)
        and (not sheet.rooms or one.room in sheet.rooms)
    )


def in_order(lengths: Sequence[Length], circuits: Sequence[Criteria]) -> list[Length]:
    """Return cables in the order of testing."""
    order = {one.circuit: place for place, one in reversed(list(enumerate(circuits)))}
    tested = [length for length in lengths if length.id in order]
    others = [length for length in lengths if length.id not in order]
    return sorted(tested, key=lambda length: order[length.id]) + sorted(others, key=lambda one: natural(one.id))


def cable_labels(takeoff: Takeoff, circuits: Sequence[Criteria]) -> Iterator[Label]:
    """Yield the two labels of each cable: one identifier on both, and on each where the other end is."""
    project = takeoff.project
    for length in in_order(takeoff.footage.lengths, circuits):
        near, far = room_end(length), far_end(project, length)
        for end, here, to in (("room end", near, far), ("far end", far, near)):
            yield Label(
                kind="cable",
                identifier=length.id,
                to=to,
                here=here,
                end=end,
                room=length.room,
                cable=length.cable.id,
                system=_system(length),
                job=_job(project),
            )


def room_end(length: Length) -> str:
    """Return where a cable ends in its room: room and port, or what feeds it there."""
    run = length.run
    if run is not None and run.panel and run.port is not None:
        place = f"{length.room}-{run.panel}{run.port:02d}"
        return f"{length.room} panel {run.panel}" if place == length.id else place
    return f"{length.room} {length.circuit.feed}" if length.circuit is not None else length.room


def far_end(project: Project, length: Length) -> str:
    """Return where a cable leads, as short as a label wants it."""
    run = length.run
    if run is None:
        return far_end_of(project, length)
    return run.outlet if run.outlet != length.id else run.drop.zone or run.drop.at or _device(run)


def _device(run: Run) -> str:
    return (run.device.name or run.device.id) if run.device else ""


def _system(length: Length) -> str:
    if length.run is not None:
        return words_of(length.run.device.system) if length.run.device else ""
    return words_of(length.circuit.kind) if length.circuit is not None else "backbone"


def _job(project: Project) -> str:
    return project.header.number or project.header.name


def _port_labels(takeoff: Takeoff) -> Iterator[Label]:
    """Yield a label for each port that is taken; the port's own place is this end."""
    project = takeoff.project
    lengths = takeoff.footage.by_id
    for use in takeoff.panels:
        for port, circuit in use.used:
            length = lengths.get(circuit) or lengths.get(circuit.rpartition(".")[0])
            to = ""
            if length is not None:
                to = far_end(project, length) if length.room == use.room else length.room
            yield Label(
                kind="port",
                identifier=circuit,
                to=to,
                here=f"{use.room}-{use.panel}{port:02d}",
                end="panel port",
                room=use.room,
                cable=length.cable.id if length else "",
                system=_system(length) if length else "",
                job=_job(project),
            )


def _outlet_labels(takeoff: Takeoff, circuits: Sequence[Criteria]) -> Iterator[Label]:
    """Yield a label for each jack of an outlet: every connector has its own."""
    for length in in_order(takeoff.footage.lengths, circuits):
        run = length.run
        if run is not None and run.device is not None and run.device.end == "jack":
            yield Label(
                kind="outlet",
                identifier=length.id,
                to=room_end(length),
                here=run.outlet if run.outlet != length.id else "",
                end="faceplate",
                room=length.room,
                cable=length.cable.id,
                system=_system(length),
                job=_job(takeoff.project),
            )


def label_list(labels: Iterable[Label]) -> str:
    """Return the labels as CSV text for the program of a label printer.

    A text that a spreadsheet would run as a formula gets an apostrophe in front.
    """
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow(HEADS)
    for one in labels:
        cells = (one.kind, one.identifier, one.to, one.here, one.end, one.room, one.cable, one.system, one.job)
        writer.writerow([guarded(cell) for cell in cells])
    return out.getvalue()


def form_line(takeoff: Takeoff) -> str:
    """Return in a sentence how many horizontal links are named in the standard's form, and where labels sit."""
    rules = table("label_rules")
    runs = [run for run in takeoff.project.runs if run.cable.medium == "balanced_pair"]
    alone = len(takeoff.project.rooms) == 1
    forms = [rules.find(rule=rule) for rule in ("horizontal_link", *(("horizontal_link_one_space",) * alone))]
    named = sum(any(re.fullmatch(form.text("pattern"), run.id) for form in forms) for run in runs)
    distance = rules.find(rule="from_jacket_end").text("printed")
    others = "" if named == len(runs) else "; the others keep the names of the project"
    return (
        f"One identifier on both ends, and on each where the other end is, within {distance} of the end of the jacket. "
        f"{named:,} of {len(runs):,} links are named {forms[0].text('form')}, as ANSI/TIA-"
        f"{takeoff.project.codes.administration} lets them be{others}."
    )
