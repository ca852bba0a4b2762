"""Checks of label sheets: the grid fits its paper, and what is asked for is there."""

from __future__ import annotations

from typing import Final

from estimator.spec.faults import Faults
from estimator.spec.labels import Grid, LabelSheet, grid_of
from estimator.spec.model import Project
from estimator.units.quantity import in_unit, show
from estimator.units.rounding import over, under

EDGE_M: Final = 0.0005
"""What has to stay free above and below a grid [m]: the writer keeps a line there. Chosen, no published source."""

_LEAST_M: Final = 0.001  # a label smaller than that is a slip of typing


def check_labels(project: Project, faults: Faults) -> None:
    """Add a fault for every grid that doesn't fit its paper, and every cable or room that isn't there."""
    seen: dict[str, LabelSheet] = {}
    for sheet in project.labels:
        before = seen.setdefault(sheet.id.lower(), sheet)
        if before is not sheet:
            faults.add(
                sheet.source.at("id"),
                f"label sheet {sheet.id!r} is used twice",
                "each id once",
                f"rename one; the first stands at {before.source.at('id')}",
            )
        _Fit(project, sheet, faults).check()
        for key, names, known in (("cables", sheet.cables, project.cables), ("rooms", sheet.rooms, project.rooms)):
            for name in names:
                if name not in known:
                    faults.undeclared(sheet.source.at(key), key[:-1], name, known, key)


class _Fit:
    """Holds one sheet against its paper."""

    def __init__(self, project: Project, sheet: LabelSheet, faults: Faults) -> None:
        self.sheet, self.faults = sheet, faults
        self.unit = "mm" if project.header.lengths_in == "m" else "in"
        self.grid: Grid = grid_of(sheet, project.header.paper)

    def check(self) -> None:
        """Add what doesn't fit."""
        sheet, grid = self.sheet, self.grid
        small = under(grid.label_width_m, _LEAST_M) or under(grid.label_height_m, _LEAST_M)
        if small:
            self._add("columns", "leaves no room for a label", "margins and gaps that leave some", "mend them")
            return
        self._along("label_width", sheet.margin_left_m, sheet.columns, grid.label_width_m, sheet.gap_across_m, 0)
        self._along("label_height", sheet.margin_top_m, sheet.rows, grid.label_height_m, sheet.gap_down_m, 1)
        if under(sheet.margin_top_m, EDGE_M):
            least = f"at least {self._shown(EDGE_M)}"
            self._add("margin_top", f"begins {self._shown(sheet.margin_top_m)} below the edge", least, "widen it")
        for key, printed_m, label_m in (
            ("print_width", grid.print_width_m, grid.label_width_m),
            ("print_height", grid.print_height_m, grid.label_height_m),
        ):
            if over(printed_m, label_m):
                limit = f"at most the label's {self._shown(label_m)}"
                self._add(key, f"has `{key}` {self._shown(printed_m)}", limit, "mend one of the two")
        labels = sheet.rows * sheet.columns
        if sheet.start > labels:
            self._add("start", f"starts at label {sheet.start}", f"1 to {labels}", "mend `start`")

    def _along(self, key: str, before_m: float, count: int, label_m: float, gap_m: float, side: int) -> None:
        """Hold one direction against the paper; below the grid a little has to stay free."""
        needs_m = before_m + count * label_m + (count - 1) * gap_m
        room_m = self.grid.paper[side] - side * EDGE_M
        if over(needs_m, room_m):
            way = ("across", "down")[side]
            wrong = f"takes {self._shown(needs_m)} {way}"
            self._add(key, wrong, f"at most {self._shown(room_m)}, its paper", "mend margin, gap, count or size")

    def _shown(self, length_m: float) -> str:
        return show(in_unit(length_m, "length", self.unit), self.unit, 5)

    def _add(self, key: str, wrong: str, expected: str, mend: str) -> None:
        self.faults.add(self.sheet.source.at(key), f"label sheet {self.sheet.id!r} {wrong}", expected, mend)
