"""Times ``check``, ``estimate`` and ``closeout`` on the benchmark job against loading its file with PyYAML.

The closeout is that of 10,000 circuits with 60,000 readings, collected before anything is timed.
Only ratios hold: the floor and the commands take turns in one run, each as a process of its own.
``python -m tests.bench.ratios [--runs 5] [--spec FILE]``; exit 1 where a ratio is over its bound.
"""

from __future__ import annotations

import argparse
import resource
import shutil
import statistics
import subprocess
import sys
import tempfile
from pathlib import Path

from tests.bench.make_big import main as make_big
from tests.bench.make_readings import main as make_readings

BOUNDS = {"check": 1.5, "estimate": 2.5, "closeout": 4.0}
FLOOR = "import sys, yaml; yaml.load(open(sys.argv[1], 'rb').read(), Loader=yaml.CSafeLoader)"


def timed(command: list[str]) -> float:
    """Return the processor time that a command takes as a whole process, user and system [s].

    A busy machine makes the clock on the wall run ahead, and this one hardly.
    """
    before = resource.getrusage(resource.RUSAGE_CHILDREN)
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    after = resource.getrusage(resource.RUSAGE_CHILDREN)
    return after.ru_utime - before.ru_utime + after.ru_stime - before.ru_stime


def collect(spec: Path, folder: Path) -> None:
    """Collect the field sheets of the benchmark job beside its project file."""
    make_readings([str(spec), str(folder)])
    sheets = [str(path) for path in sorted(folder.glob("*.csv"))]
    command = [sys.executable, "-m", "estimator", "collect", str(spec), *sheets]
    subprocess.run(command, check=True, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)


def measure(spec: Path, folder: Path, runs: int) -> dict[str, float]:
    """Return the median processor time of the floor and of each command [s]."""
    python = sys.executable
    commands = {
        "floor": [python, "-c", FLOOR, str(spec)],
        "check": [python, "-m", "estimator", "check", str(spec)],
        **{
            verb: [python, "-m", "estimator", verb, str(spec), "--out", str(folder / verb), "--replace"]
            for verb in ("estimate", "closeout")
        },
    }
    times: dict[str, list[float]] = {name: [] for name in commands}
    for _ in range(runs + 1):  # the first round warms up
        for name, command in commands.items():
            times[name].append(timed(command))
    return {name: statistics.median(taken[1:]) for name, taken in times.items()}


def main() -> int:
    """Print the ratios. Returns 1 where one is over its bound."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--runs", type=int, default=5)
    parser.add_argument("--spec", type=Path)
    chosen = parser.parse_args()
    with tempfile.TemporaryDirectory() as temporary:
        folder = Path(temporary)
        spec = folder / "big.yaml"
        if chosen.spec is None:
            make_big([str(spec)])
        else:
            shutil.copy(chosen.spec, spec)
        collect(spec, folder)
        medians = measure(spec, folder, chosen.runs)
    print(f"floor     {medians['floor']:.3f} s")
    for name, bound in BOUNDS.items():
        ratio = medians[name] / medians["floor"]
        print(f"{name:<9} {medians[name]:.3f} s  {ratio:.2f} of the floor, at most {bound:g}")
    return int(any(medians[name] > bound * medians["floor"] for name, bound in BOUNDS.items()))


if __name__ == "__main__":
    sys.exit(main())
