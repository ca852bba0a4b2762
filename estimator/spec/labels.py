"""Sheets of labels: the grid of the paper they are printed on, and what stands on each label."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from estimator.reference.lookup import table
from estimator.spec.fields import Choice, Count, ListOf, Name, Quantity, Text, YesNo, record, spec
from estimator.spec.nodes import Source

KINDS: Final = ("cable", "port", "outlet")
LINES: Final = ("id", "to", "here", "cable", "system", "job")
"""What may stand on a label: its identifier, where the other end is, where this end is, and so on."""


@record
class LabelSheet:
    """A sheet of label stock; the size of a label follows from paper, margins and gaps where it isn't typed."""

    id: str = spec(Name(), "name of the stock, part of the file's name")
    name: str = spec(Text(80), "description", default="")
    of: tuple[str, ...] = spec(
        ListOf(Choice(*KINDS), split=True, least=1),
        "what is labeled: cable ends, panel ports, outlets",
        default=("cable",),
    )
    cables: tuple[str, ...] = spec(ListOf(Name(), split=True), "these cable types alone", default=())
    rooms: tuple[str, ...] = spec(ListOf(Name(), split=True), "cables of these rooms alone", default=())
    paper: str | None = spec(Choice("letter", "A4"), "paper; by default that of the project", default=None)
    columns: int = spec(Count(1, 60, "labels"), "labels side by side")
    rows: int = spec(Count(1, 200, "labels"), "labels one below another")
    margin_top_m: float = spec(Quantity("length", 0, 0.3), "paper's edge to the first row", key="margin_top")
    margin_left_m: float = spec(Quantity("length", 0, 0.3), "paper's edge to the first column", key="margin_left")
    margin_bottom_m: float | None = spec(
        Quantity("length", 0, 0.3), "below the last row; by default as at the top", key="margin_bottom", default=None
    )
    margin_right_m: float | None = spec(
        Quantity("length", 0, 0.3),
        "right of the last column; by default as at the left",
        key="margin_right",
        default=None,
    )
    gap_across_m: float = spec(Quantity("length", 0, 0.1), "between labels side by side", key="gap_across", default=0.0)
    gap_down_m: float = spec(Quantity("length", 0, 0.1), "between rows", key="gap_down", default=0.0)
    label_width_m: float | None = spec(
        Quantity("length", 0.001, 0.3),
        "width of a label, in place of the right margin",
        key="label_width",
        default=None,
    )
    label_height_m: float | None = spec(
        Quantity("length", 0.001, 0.3),
        "height of a label, in place of the bottom margin",
        key="label_height",
        default=None,
    )
    print_width_m: float | None = spec(
        Quantity("length", 0.001, 0.3),
        "width that takes print, from a label's left edge: the rest of a wrap is clear",
        key="print_width",
        default=None,
    )
    print_height_m: float | None = spec(
        Quantity("length", 0.001, 0.3),
        "height that takes print, from a label's upper edge",
        key="print_height",
        default=None,
    )
    start: int = spec(Count(1, 12000, "labels"), "first free label of a sheet in use, counted row by row", default=1)
    lines: tuple[str, ...] = spec(
        ListOf(Choice(*LINES), split=True, least=1),
        "lines of a label, top down; the first is printed bold",
        default=("id", "to"),
    )
    qr: bool = spec(YesNo(), "a QR code of the identifier beside the text", default=False)
    source: Source


@dataclass(frozen=True, kw_only=True, slots=True)
class Grid:
    """Where the labels of a sheet lie [m]."""

    paper_width_m: float
    paper_height_m: float
    label_width_m: float
    label_height_m: float
    print_width_m: float
    print_height_m: float

    @property
    def paper(self) -> tuple[float, float]:
        """Return width and height of the paper [m]."""
        return self.paper_width_m, self.paper_height_m


def grid_of(sheet: LabelSheet, paper: str) -> Grid:
    """Return the grid of a sheet; ``paper`` is the project's, for a sheet that types none."""
    size = table("paper_sizes").find(paper=sheet.paper or paper)
    width_m, height_m = size.number("width_m"), size.number("height_m")
    right_m = sheet.margin_left_m if sheet.margin_right_m is None else sheet.margin_right_m
    bottom_m = sheet.margin_top_m if sheet.margin_bottom_m is None else sheet.margin_bottom_m
    label_width_m = sheet.label_width_m or _share(
        width_m - sheet.margin_left_m - right_m, sheet.columns, sheet.gap_across_m
    )
    label_height_m = sheet.label_height_m or _share(
        height_m - sheet.margin_top_m - bottom_m, sheet.rows, sheet.gap_down_m
    )
    return Grid(
        paper_width_m=width_m,
        paper_height_m=height_m,
        label_width_m=label_width_m,
        label_height_m=label_height_m,
        print_width_m=sheet.print_width_m or label_width_m,
        print_height_m=sheet.print_height_m or label_height_m,
    )


def _share(room_m: float, count: int, gap_m: float) -> float:
    """Return what each of so many labels has of a length, less the gaps between them [m]."""
    return (room_m - (count - 1) * gap_m) / count
