"""The project as the rest of the house sees it, and the root of the project file."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from estimator.spec.backup import Ups
from estimator.spec.cabling import Backbone, CableType, DeviceType, Drop
from estimator.spec.faults import Place, ProblemError
from estimator.spec.feeds import Amplifier, Circuit, ControlUnit, NetworkSwitch, PowerSupply, TestPoint
from estimator.spec.fields import Block, Count, Kind, ListOf, Text, record, spec
from estimator.spec.labels import LabelSheet
from estimator.spec.listing import OrFile
from estimator.spec.money import PriceBook
from estimator.spec.nodes import Mapping as MappingNode
from estimator.spec.nodes import Node, Scalar, Source
from estimator.spec.plant import PlanNode, Room, Segment
from estimator.spec.project import Codes, Header, HouseRules, Plan
from estimator.spec.quality import Acceptance
from estimator.spec.reading import Reader
from estimator.spec.rules import Rules
from estimator.spec.turnover import Closeout, Scope

FORMAT = 1
"""Format of the project file that this release reads."""


TABLE_ENDINGS = (".csv", ".tsv", ".txt", ".xlsx", ".xls", ".ods")
"""Endings of files that hold a table, and no keys."""


class PricesOrFile(Kind):
    """The price-and-labor block, or the name of the YAML file that holds it."""

    expects = "the name of a price file, or its keys"

    def read(self, node: Node, reader: Reader) -> object:
        if isinstance(node, MappingNode):
            return reader.record(PriceBook, node)
        name = self.text(node)
        if name.lower().endswith(TABLE_ENDINGS):
            mend = f"make a YAML file of them and write `items: [{{from: {name}}}]` in it"
            raise ProblemError(f"{name!r} is a table, and a price file has crew and build-up too", self.expects, mend)
        tree = reader.yaml(name, Place(reader.file, node.line, node.column))
        if tree is None:
            return None
        with reader.within(name):
            return reader.record(PriceBook, tree)

    def schema(self) -> dict[str, Any]:
        return {"anyOf": [{"type": "string"}, {"$ref": "#/$defs/PriceBook"}]}


@record
class ProjectFile:
    """The root of a project file."""

    version: int = spec(Count(0, 1000), "format version", key="dropledger")
    project: Header = spec(Block(Header), "the job")
    codes: Codes | None = spec(Block(Codes), "adopted editions", default=None)
    rules: HouseRules | None = spec(Block(HouseRules), "house rules", default=None)
    plan: Plan | None = spec(Block(Plan), "plan coordinates", default=None)
    rooms: tuple[Room, ...] = spec(ListOf(Block(Room)), "telecom rooms", default=())
    nodes: tuple[PlanNode, ...] = spec(ListOf(Block(PlanNode)), "points of the pathway graph", default=())
    pathways: tuple[Segment, ...] = spec(ListOf(Block(Segment)), "segments of the pathway graph", default=())
    cables: tuple[CableType, ...] = spec(ListOf(Block(CableType)), "cable types", default=())
    devices: tuple[DeviceType, ...] = spec(ListOf(Block(DeviceType)), "device types", default=())
    drops: tuple[Drop | tuple[Drop, ...], ...] = spec(ListOf(OrFile(Drop)), "cable runs", default=())
    switches: tuple[NetworkSwitch, ...] = spec(ListOf(Block(NetworkSwitch)), "switches", default=())
    power_supplies: tuple[PowerSupply, ...] = spec(ListOf(Block(PowerSupply)), "DC supplies", default=())
    control_units: tuple[ControlUnit, ...] = spec(ListOf(Block(ControlUnit)), "alarm and access panels", default=())
    amplifiers: tuple[Amplifier, ...] = spec(ListOf(Block(Amplifier)), "amplifiers", default=())
    ups: tuple[Ups, ...] = spec(ListOf(Block(Ups)), "UPS", default=())
    circuits: tuple[Circuit, ...] = spec(ListOf(Block(Circuit)), "circuits of several devices", default=())
    backbone: tuple[Backbone, ...] = spec(ListOf(Block(Backbone)), "backbone cables", default=())
    test_points: tuple[TestPoint, ...] = spec(ListOf(Block(TestPoint)), "tested without a cable", default=())
    acceptance: Acceptance | None = spec(Block(Acceptance), "how the job is accepted", default=None)
    prices: PriceBook | None = spec(PricesOrFile(), "price-and-labor file", default=None)
    baseline: str | None = spec(Text(200), "the project file that was bid", default=None)
    scope: Scope | None = spec(Block(Scope), "scope of the bid", default=None)
    labels: tuple[LabelSheet, ...] = spec(ListOf(Block(LabelSheet)), "sheets of labels", default=())
    readings: str | None = spec(Text(200), "folder of collected batches", default=None)
    closeout: Closeout | None = spec(Block(Closeout), "what the binder must hold", default=None)
    source: Source


@dataclass(frozen=True, kw_only=True, slots=True)
class Cable:
    """A cable type with the catalog's typical values in every gap; ``typical`` names those."""

    id: str
    name: str
    medium: str
    category: str | None
    pairs: int
    conductors: int
    awg: int | None
    stranding: str
    coated: bool
    material: str
    jacket: str
    circuit_class: str
    od_m: float
    put_up_m: float  # zero where each run is ordered at its own length
    nvp: float | None
    waste: float | None
    service_loop_m: float | None
    fiber_class: str | None
    strands: int
    coax_type: str | None
    price: str | None
    ohm_per_m: float | None
    stock_m: tuple[float, ...]
    typical: tuple[str, ...]
    typed: CableType | None
    source: Source


@dataclass(frozen=True, kw_only=True, slots=True)
class Run:
    """One cable run with its identity; a drop with several cables has several runs."""

    id: str
    drop: Drop
    device: DeviceType | None
    cable: Cable
    outlet: str
    panel: str | None
    port: int | None
    first: bool

    @property
    def place(self) -> Place:
        """Return where the run was typed."""
        return self.drop.source.at("id")


@dataclass(frozen=True, kw_only=True, slots=True)
class Project:
    """A project without faults."""

    name: str
    file: str
    folder: str
    digest: str
    header: Header
    codes: Codes
    rules: Rules
    plan: Plan | None
    rooms: Mapping[str, Room]
    nodes: Mapping[str, PlanNode]
    segments: Mapping[str, Segment]
    cables: Mapping[str, Cable]
    devices: Mapping[str, DeviceType]
    runs: tuple[Run, ...]
    switches: Mapping[str, NetworkSwitch]
    supplies: Mapping[str, PowerSupply]
    control_units: Mapping[str, ControlUnit]
    amplifiers: Mapping[str, Amplifier]
    ups: Mapping[str, Ups]
    circuits: Mapping[str, Circuit]
    backbone: Mapping[str, Backbone]
    test_points: Mapping[str, TestPoint]
    acceptance: Acceptance
    prices: PriceBook | None
    baseline: Project | None
    scope: Scope
    labels: tuple[LabelSheet, ...]
    readings: str
    closeout: Closeout

    def feed(self, name: str) -> ControlUnit | PowerSupply | Amplifier:
        """Return what feeds a circuit. Raises: KeyError where nothing has that name."""
        if name in self.control_units:
            return self.control_units[name]
        return self.supplies[name] if name in self.supplies else self.amplifiers[name]


NO_PLACE = Source("", Scalar("", 1, 1, True))
"""Source of a block that the file leaves out."""
