"""Cut plans proven by an independent solver, and the cases drawn by number that ours is held against."""

from __future__ import annotations

import random
import warnings
from dataclasses import dataclass
from itertools import pairwise

PUT_UP_FT = 1000
CASES = 200
SECONDS = 20.0


@dataclass(frozen=True, kw_only=True, slots=True)
class Optimum:
    """The fewest boxes that the solver found, and the fewest that it could not rule out."""

    boxes: int
    least: int

    @property
    def proven(self) -> bool:
        """Whether both meet."""
        return self.boxes == self.least


def drawn_case(case: int) -> list[int]:
    """Runs of one job [ft]: 8 to 40 of 60 to 295 ft."""
    chance = random.Random(f"cuts {case}")
    return [chance.randint(60, 295) for _ in range(chance.randint(8, 40))]


def tight_case(case: int) -> list[int]:
    """Runs [ft] that fill whole boxes but for 0 to 9 ft in all, so that length alone decides nothing."""
    chance = random.Random(f"tight cuts {case}")
    while True:
        runs = [chance.randint(60, 295) for _ in range(chance.randint(8, 40))]
        last = -(sum(runs) + chance.randint(0, 9)) % PUT_UP_FT
        if 60 <= last <= 295:
            return [*runs, last]


def fewest_boxes(lengths: list[int], *, put_up: int = PUT_UP_FT, most: int, seconds: float = SECONDS) -> Optimum:
    """The optimum by constraint programming: each run in one box, no box beyond what it holds."""
    with warnings.catch_warnings():  # what a library says of its own future on import is for its makers
        warnings.simplefilter("ignore", DeprecationWarning)
        from ortools.sat.python import cp_model

    model = cp_model.CpModel()
    runs = sorted(lengths, reverse=True)
    opened = [model.new_bool_var(f"box {box}") for box in range(most)]
    lies = [[model.new_bool_var(f"run {run} box {box}") for box in range(most)] for run in range(len(runs))]
    for row in lies:
        model.add_exactly_one(row)
    for box in range(most):
        model.add(sum(row[box] * length for row, length in zip(lies, runs, strict=True)) <= put_up * opened[box])
    for one, following in pairwise(opened):
        model.add_implication(following, one)  # boxes are alike: opened in order
    for run, row in enumerate(lies):
        for box in range(run + 1, most):
            model.add(row[box] == 0)
    model.minimize(sum(opened))
    solver = cp_model.CpSolver()
    solver.parameters.max_time_in_seconds = seconds
    solver.parameters.num_workers = 1
    status = solver.solve(model)
    if status not in (cp_model.OPTIMAL, cp_model.FEASIBLE):
        return Optimum(boxes=most, least=round(solver.best_objective_bound))
    return Optimum(boxes=round(solver.objective_value), least=round(solver.best_objective_bound))
