"""A project file to a Project: read, expand, fill from the catalog, check; every fault collected."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Protocol, TypeVar

from estimator.spec.cabling import Backbone, DeviceType, Drop
from estimator.spec.catalog import resolve_cable
from estimator.spec.checks import check_file, check_project
from estimator.spec.faults import Fault, Faults, Place
from estimator.spec.feeds import Circuit
from estimator.spec.model import FORMAT, NO_PLACE, Cable, Project, ProjectFile, Run
from estimator.spec.nodes import BROKEN, Mapping, Source, read_yaml
from estimator.spec.plant import Room
from estimator.spec.project import Codes
from estimator.spec.quality import Acceptance
from estimator.spec.ranges import expand
from estimator.spec.reading import Reader, regular_bytes
from estimator.spec.rules import resolve
from estimator.spec.turnover import Closeout, Scope

MOST_RUNS = 200_000
"""More cable runs than any building has; a slip in a range must not fill the memory."""

_PORT = re.compile(r"(.*?)[-:]?(\d+)")


class _Identified(Protocol):
    @property
    def id(self) -> str: ...

    @property
    def source(self) -> Source: ...


T = TypeVar("T", bound=_Identified)


@dataclass(frozen=True, slots=True)
class Loaded:
    """What reading a project file gave: the project if it has no fault, and all faults by place."""

    project: Project | None
    faults: tuple[Fault, ...]


def load(path: Path, *, baseline: bool = True) -> Loaded:
    """Return the project of a file, or its faults; never raises for what a user wrote.

    ``baseline`` also loads the project that was bid, where the file names one.
    """
    faults = Faults()
    reader = Reader(path.parent, faults)
    reader.file = path.name or path.as_posix()
    folder = path.parent.as_posix()
    data = regular_bytes(path)
    if data is None:
        reason = _unreadable(path)
        faults.add(
            Place(reader.file, 1, 1),
            f"the project file can't be read ({reason})",
            "a YAML project file",
            "mend the name",
        )
        return Loaded(None, faults.sorted(folder))
    reader.files[path.name] = data
    root = read_yaml(data, reader.file, faults)
    if any(fault.wrong == BROKEN for fault in faults.found):
        return Loaded(None, faults.sorted(folder))  # what follows the break can't be missed
    if not isinstance(root, Mapping):
        if not faults.found:
            faults.add(
                Place(reader.file, 1, 1),
                "the file has no keys",
                "`dropledger: 1` and what follows",
                "fill it",
            )
        return Loaded(None, faults.sorted(folder))
    if not _known_format(root, reader):
        return Loaded(None, faults.sorted(folder))
    typed = reader.record(ProjectFile, root)
    if typed is None:
        return Loaded(None, faults.sorted(folder))
    bid = _baseline(typed, reader) if baseline else None
    project = _assemble(typed, path, reader, bid)
    return Loaded(None if faults.found else project, faults.sorted(folder))


def _unreadable(path: Path) -> str:
    """Return in words why a project file gives no bytes."""
    if path.is_dir():
        return "is a folder"
    if not path.exists():
        return "there is no such file"
    return "no permission to read it" if path.is_file() else "is not a regular file"


def _known_format(root: Mapping, reader: Reader) -> bool:
    entry = root.entries.get("dropledger")
    value = getattr(entry[1], "value", None) if entry else None
    if value == str(FORMAT):
        return True
    where = entry[1] if entry else root
    wrong = "the format version is missing" if entry is None else f"format version {value!r} is not known"
    reader.faults.add(
        Place(reader.file, where.line, where.column),
        wrong,
        f"`dropledger: {FORMAT}`",
        f"this release reads format {FORMAT}; write `dropledger: {FORMAT}` on the first line",
    )
    return False


def _by_id(records: Iterable[T], what: str, faults: Faults) -> dict[str, T]:
    """Return records by id; the same id twice, or two that differ only in case, is a fault."""
    found: dict[str, T] = {}
    lowered: dict[str, T] = {}
    for item in records:
        before = lowered.get(item.id.lower())
        if before is not None:
            same = "is used twice" if before.id == item.id else f"differs from {before.id!r} only in case"
            faults.add(
                item.source.at("id"),
                f"{what} {item.id!r} {same}",
                "each id once",
                f"rename one; the first stands at {before.source.at('id')}",
            )
            continue
        found[item.id] = lowered[item.id.lower()] = item
    return found


def _baseline(typed: ProjectFile, reader: Reader) -> Project | None:
    """Return the project that was bid; one that can't be read is a fault at its name."""
    if typed.baseline is None:
        return None
    place = typed.source.at("baseline")
    data = reader.open(typed.baseline, place)
    if data is None:
        return None
    bid = load(reader.folder / typed.baseline, baseline=False)
    if bid.project is None:
        more = f" (and {len(bid.faults) - 1} more)" if len(bid.faults) > 1 else ""
        wrong = f"baseline {typed.baseline!r} can't be used: {bid.faults[0].wrong}{more}"
        reader.faults.add(place, wrong, "the project file that was bid", "run `check` on it and mend it")
    return bid.project


def _assemble(typed: ProjectFile, path: Path, reader: Reader, bid: Project | None) -> Project:
    faults = reader.faults
    cables = _cables(typed, faults)
    devices = _by_id(typed.devices, "device type", faults)
    rooms = _by_id(typed.rooms, "room", faults)
    runs = tuple(_runs(typed, cables, devices, rooms, faults))
    _resolve_named((*typed.circuits, *typed.backbone), cables, faults)
    project = Project(
        name=path.stem,
        file=reader.file,
        folder=path.parent.as_posix(),
        digest=_digest(reader.files),
        header=typed.project,
        codes=typed.codes or Codes(source=NO_PLACE),
        rules=resolve(typed.rules, typed.plan, typed.project.lengths_in),
        plan=typed.plan,
        rooms=rooms,
        nodes=_by_id(typed.nodes, "node", faults),
        segments=_by_id(typed.pathways, "segment", faults),
        cables=cables,
        devices=devices,
        runs=runs,
        **_fed(typed, faults),
        acceptance=typed.acceptance or Acceptance(source=NO_PLACE),
        prices=typed.prices,
        baseline=bid,
        scope=typed.scope or Scope(source=NO_PLACE),
        labels=typed.labels,
        readings=typed.readings or f"{path.stem}.readings",
        closeout=typed.closeout or Closeout(source=NO_PLACE),
    )
    check_file(typed, faults)
    check_project(project, faults)
    return project


def _fed(typed: ProjectFile, faults: Faults) -> dict[str, Any]:
    """Return what feeds devices, what it feeds and what is tested, each by id."""
    return {
        "switches": _by_id(typed.switches, "switch", faults),
        "supplies": _by_id(typed.power_supplies, "power supply", faults),
        "control_units": _by_id(typed.control_units, "control unit", faults),
        "amplifiers": _by_id(typed.amplifiers, "amplifier", faults),
        "ups": _by_id(typed.ups, "UPS", faults),
        "circuits": _by_id(typed.circuits, "circuit", faults),
        "backbone": _by_id(typed.backbone, "backbone cable", faults),
        "test_points": _by_id(typed.test_points, "test point", faults),
    }


def _digest(files: dict[str, bytes]) -> str:
    """Return the hash of the project file and all it includes."""
    digest = hashlib.sha256()
    for name in sorted(files):
        digest.update(name.encode() + b"\0" + hashlib.sha256(files[name]).digest())
    return digest.hexdigest()


def _cables(typed: ProjectFile, faults: Faults) -> dict[str, Cable]:
    resolved = {}
    for cable in _by_id(typed.cables, "cable type", faults).values():
        whole = resolve_cable(cable, faults)
        if whole is None:
            faults.lost.append(("CableType", {"id": cable.id}))
        else:
            resolved[cable.id] = whole
    return resolved


def _bare(name: str, cables: dict[str, Cable]) -> Cable | None:
    """Return a cable named in the job, or a bare catalog name with its typical values."""
    if name in cables:
        return cables[name]
    found = resolve_cable(name, Faults())
    if found is not None:
        cables[name] = found
    return found


def _resolve_named(records: Iterable[Circuit | Backbone], cables: dict[str, Cable], faults: Faults) -> None:
    for item in records:
        _cable(item.cable, item.source, cables, faults)


def _cable(name: str, source: Source, cables: dict[str, Cable], faults: Faults) -> Cable | None:
    cable = _bare(name, cables)
    if cable is None:
        faults.undeclared(source.at("cable"), "cable", name, cables, "cables")
    return cable


def _runs(
    typed: ProjectFile,
    cables: dict[str, Cable],
    devices: dict[str, DeviceType],
    rooms: dict[str, Room],
    faults: Faults,
) -> Iterable[Run]:
    panels = {room.id: {panel.id: panel.ports for panel in room.patch_panels} for room in rooms.values()}
    seen: dict[str, Drop] = {}
    cache: dict[tuple[str | None, str | None], tuple[DeviceType | None, tuple[Cable, ...]] | None] = {}
    for entry in typed.drops:
        for drop in entry if isinstance(entry, tuple) else (entry,):
            key = (drop.device, drop.cable)
            if key not in cache or cache[key] is None:
                cache[key] = _kinds(drop, cables, devices, faults)
            found = cache[key]
            if found is None:
                continue
            if len(seen) > MOST_RUNS:
                what = f"the job has over {MOST_RUNS:,} cable runs"
                faults.add(drop.source.at("id"), what, f"at most {MOST_RUNS:,}", "split it into several project files")
                return
            yield from _expand(drop, *found, panels.get(drop.room, {}), seen, faults)


def _kinds(
    drop: Drop, cables: dict[str, Cable], devices: dict[str, DeviceType], faults: Faults
) -> tuple[DeviceType | None, tuple[Cable, ...]] | None:
    device = devices.get(drop.device) if drop.device else None
    if drop.device and device is None:
        faults.undeclared(drop.source.at("device"), "device", drop.device, devices, "devices")
        return None
    names = (drop.cable,) if drop.cable else (device.cables if device else ())
    if not names:
        faults.add(
            drop.source.at("id"),
            f"drop {drop.id!r} has no cable",
            "`cable:`, or a device that names its cable",
            "add `cable:`",
        )
        return None
    if drop.cable and device and len(device.cables) > 1:
        faults.add(
            drop.source.at("cable"),
            f"device {device.id!r} has {len(device.cables)} cables of its own",
            "no `cable:` beside such a device",
            "delete `cable:` here",
        )
        return None
    source = drop.source if drop.cable else (device or drop).source
    found = tuple(_cable(name, source, cables, faults) for name in names)
    whole = tuple(cable for cable in found if cable is not None)
    return (device, whole) if len(whole) == len(names) else None


def _expand(
    drop: Drop,
    device: DeviceType | None,
    kinds: tuple[Cable, ...],
    panels: dict[str, int],
    seen: dict[str, Drop],
    faults: Faults,
) -> Iterable[Run]:
    ids = expand(drop.id)
    per = len(kinds)
    ports = expand(drop.port) if drop.port else ()
    outlets = expand(drop.outlet) if drop.outlet else ()
    for key, listed, fits in (("port", ports, (len(ids) * per,)), ("outlet", outlets, (1, len(ids)))):
        if listed and len(listed) not in fits:
            faults.add(
                drop.source.at(key),
                f"`{key}` names {len(listed)} for {len(ids) * per} cables",
                " or ".join(str(n) for n in fits),
                "make both ranges equally long",
            )
            return
    for index, base in enumerate(ids):
        outlet = base if not outlets else outlets[index if len(outlets) > 1 else 0]
        for piece, cable in enumerate(kinds):
            name = base if per == 1 else f"{base}.{piece + 1}"
            before = seen.setdefault(name.lower(), drop)
            if before is not drop:
                faults.add(
                    drop.source.at("id"),
                    f"circuit id {name!r} is used twice",
                    "each id once in the job",
                    f"rename one; the first stands at {before.source.at('id')}",
                )
                return
            panel, port = _port(name, drop, ports[index * per + piece] if ports else None, panels)
            yield Run(
                id=name, drop=drop, device=device, cable=cable, outlet=outlet, panel=panel, port=port, first=piece == 0
            )


def _port(name: str, drop: Drop, typed: str | None, panels: dict[str, int]) -> tuple[str | None, int | None]:
    """Return panel and port: as typed, else as an ANSI/TIA-606 id of a known panel implies them."""
    text = typed
    if text is None:
        if not name.startswith(drop.room + "-"):
            return None, None
        text = name[len(drop.room) + 1 :]
        match = _PORT.fullmatch(text)
        return (match.group(1), int(match.group(2))) if match and match.group(1) in panels else (None, None)
    match = _PORT.fullmatch(text)
    return (match.group(1), int(match.group(2))) if match else (text, None)
