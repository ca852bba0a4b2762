"""Prints the drawn cut plans beside the optimum that a solver proves: ``python -m tests.bench.cuts [--cases 200]``.

The last lines count what is proven, and hold ten thousand runs against the bound of whole runs a box.
"""

from __future__ import annotations

import argparse
import random
import time

from estimator.calc.cutting import cut_plan
from tests.calc.optimum import CASES, PUT_UP_FT, SECONDS, drawn_case, fewest_boxes


def small(cases: int, seconds: float) -> None:
    """Print each case that is not the proven optimum, and the counts."""
    proven = equal = most_over = 0
    unproven = []
    print("case  runs  ours  optimum  proven")
    for case in range(cases):
        runs = drawn_case(case)
        ours = cut_plan(runs, put_up_m=PUT_UP_FT, cut_to_m=1).new_boxes
        found = fewest_boxes(runs, most=ours, seconds=seconds)
        if found.proven:
            proven += 1
            equal += ours == found.boxes
            most_over = max(most_over, ours - found.boxes)
        else:
            unproven.append(case)
        print(f"{case:4}  {len(runs):4}  {ours:4}  {found.boxes:7}  {'yes' if found.proven else f'>= {found.least}'}")
    print(f"{proven} of {cases} proven, {equal} of them equal, none more than {most_over} over")
    print(f"not proven within {seconds:g} s: {', '.join(map(str, unproven)) or 'none'}")


def large() -> None:
    """Print ten thousand runs in one pull and in two hundred."""
    chance = random.Random("many cuts 0")
    runs = [chance.randint(60, 295) for _ in range(10_000)]
    pulls = [f"P{chance.randrange(200)}" for _ in runs]
    for name, groups in (("one pull", None), ("200 pulls", pulls)):
        began = time.perf_counter()
        plan = cut_plan(runs, put_up_m=PUT_UP_FT, cut_to_m=1, pulls=groups)
        took = time.perf_counter() - began
        over = plan.new_boxes / plan.least_boxes - 1
        print(f"10,000 runs, {name}: {plan.new_boxes} boxes, bound {plan.least_boxes}, {over:.2%} over, {took:.2f} s")


def main() -> None:
    """Run the cases."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cases", type=int, default=CASES)
    parser.add_argument("--seconds", type=float, default=SECONDS)
    chosen = parser.parse_args()
    small(chosen.cases, chosen.seconds)
    large()


if __name__ == "__main__":
    main()
