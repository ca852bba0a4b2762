"""Verbs that only look: check, figures, explain, schema."""

from __future__ import annotations

import sys
from argparse import Namespace
from dataclasses import replace
from pathlib import Path

from estimator.cli.show import count, dump, place_json, print_faults, worked_out
from estimator.spec.faults import Fault, under
from estimator.spec.load import load
from estimator.spec.project import CURRENCIES
from estimator.takeoff.alerts import Alert
from estimator.takeoff.takeoff import Takeoff, alerts_of, families_of, take_off
from estimator.takeoff.worked import Figure, Input, Judged, Worked
from estimator.takeoff.worked import explain as worked_figure
from estimator.takeoff.worked import figures as all_figures
from estimator.units.rounding import significant
from estimator.units.table import FOOT_M, HOUR_S


def check(chosen: Namespace) -> int:
    """Print every fault, then the warnings. Returns 1 with faults."""
    result = load(Path(chosen.spec))
    faults: tuple[Fault, ...] = result.faults
    takeoff: Takeoff | None = None
    if result.project is not None:
        takeoff = take_off(result.project)
        faults = takeoff.faults
    alerts: tuple[Alert, ...] = ()
    if takeoff is not None and not faults:
        folder = takeoff.project.folder
        alerts = tuple(replace(alert, place=under(folder, alert.place)) for alert in alerts_of(takeoff))
    if chosen.format == "json":
        print(dump({"faults": [_fault_json(f) for f in faults], "warnings": [_alert_json(a) for a in alerts]}))
        return 1 if faults else 0
    print_faults(faults, sys.stdout)
    for alert in alerts:
        print(f"warning: {alert}")
    if faults:
        print(f"{count(len(faults), 'fault')}; warnings follow once they are mended")
    else:
        print(f"no faults; {count(len(alerts), 'warning')}")
    return 1 if faults else 0


def _fault_json(fault: Fault) -> dict[str, object]:
    return {**place_json(fault.place), "wrong": fault.wrong, "expected": fault.expected, "mend": fault.mend}


def _alert_json(alert: Alert) -> dict[str, object]:
    return {
        **place_json(alert.place),
        "kind": alert.kind,
        "subject": alert.subject,
        "text": alert.text,
        "value": alert.value,
        "limit": alert.limit,
        "source": alert.source,
        "advice": alert.advice,
    }


def figures(chosen: Namespace) -> int:
    """List every computed number."""
    takeoff = worked_out(chosen.spec, "no figures until they are mended")
    if takeoff is None:
        return 1
    listed = all_figures(families_of(takeoff))
    if chosen.format == "json":
        print(dump([_figure_json(figure) for figure in listed]))
        return 0
    for figure in listed:
        judged = figure.judged
        verdict = f"  {judged.word} (limit {shown(judged.limit, figure.unit)})" if judged else ""
        print(f"{figure.id} = {shown(figure.value, figure.unit)}{verdict}  [{figure.source}]")
    return 0


def shown(value: float, unit: str) -> str:
    """Return a value with its unit for people; lengths in feet beside meters."""
    if unit in CURRENCIES:
        return f"{value:,.2f} {unit}"
    text = f"{significant(value, 6):g} {unit}".strip() if abs(value) < 1e5 else f"{value:,.2f} {unit}".strip()
    if unit == "m":
        return f"{text} ({value / FOOT_M:.1f} ft)"
    return f"{text} ({value / HOUR_S:.3g} h)" if unit == "s" and value >= HOUR_S else text


def _judged_json(judged: Judged | None) -> dict[str, object]:
    if judged is None:
        return {}
    return {"verdict": judged.word, "margin": judged.margin, "limit": judged.limit, "limit_source": judged.source}


def _figure_json(figure: Figure) -> dict[str, object]:
    return {
        "id": figure.id,
        "value": figure.value,
        "unit": figure.unit,
        "meaning": figure.meaning,
        **_judged_json(figure.judged),
        "source": figure.source,
    }


def explain(chosen: Namespace) -> int:
    """Show how one number came to be."""
    takeoff = worked_out(chosen.spec, "no figures until they are mended")
    if takeoff is None:
        return 1
    families = families_of(takeoff)
    worked = worked_figure(families, chosen.figure)
    if worked is None:
        return _no_figure(chosen.figure, [figure.id for figure in all_figures(families)])
    print(dump(_worked_json(worked)) if chosen.format == "json" else _worked_text(worked))
    return 0


def _no_figure(wanted: str, known: list[str]) -> int:
    from estimator.spec.faults import nearest

    close = nearest(wanted, known)
    mend = f"did you mean {close}?" if close else "`dropledger figures` lists them all"
    print(f"no figure {wanted!r} among {len(known)}; {mend}", file=sys.stderr)
    return 1


def _worked_json(worked: Worked) -> dict[str, object]:
    return {
        "id": worked.id,
        "meaning": worked.meaning,
        "value": worked.value,
        "unit": worked.unit,
        "formula": worked.formula.text if worked.formula else None,
        "method": worked.method or None,
        "inputs": {
            name: {"value": item.value, "unit": item.unit, "origin": item.origin}
            for name, item in worked.inputs.items()
        },
        "source": worked.source,
        **_judged_json(worked.judged),
    }


def _worked_text(worked: Worked) -> str:
    lines = [f"{worked.id} = {shown(worked.value, worked.unit)}", f"  {worked.meaning}"]
    if worked.formula is not None:
        lines.append(f"  formula: {worked.formula.text}")
    if worked.method:
        lines.append(f"  method:  {worked.method} (iterative: the value is stored, not a formula)")
    if worked.inputs:
        lines.append("  inputs:")
        width = max(len(name) for name in worked.inputs)
        lines.extend(f"    {name:<{width}} = {_input_text(item)}" for name, item in worked.inputs.items())
    lines.append(f"  source:  {worked.source}")
    if worked.judged is not None:
        judged = worked.judged
        lines.append(
            f"  verdict: {judged.word}; limit {shown(judged.limit, worked.unit)} ({judged.source}), "
            f"margin {shown(judged.margin, worked.unit)}"
        )
    return "\n".join(lines)


def _input_text(item: Input) -> str:
    if isinstance(item.value, tuple):
        values = ", ".join(f"{value!r}" for value in item.value[:12])
        more = f", ... {len(item.value)} in all" if len(item.value) > 12 else ""
        return f"[{values}{more}] {item.unit}  <- {item.origin}"
    return f"{item.value!r} {item.unit}".rstrip() + f"  <- {item.origin}"


def schema(chosen: Namespace) -> int:
    """Print the JSON Schema of the project file, or a line for each of its keys."""
    from estimator.spec.schema import catalog_cables, key_table, project_schema

    if not chosen.table:
        print(dump(project_schema()))
        return 0
    for line in key_table():
        name = f"{line.block}.{line.key}" if line.block else line.key
        print(f"{name}: {line.meaning} ({line.takes}; {line.otherwise})")
    print("\nCatalog cables, to be named by `cables.type` or by a bare `cable:`")
    for name, meaning in catalog_cables():
        print(f"{name}: {meaning}")
    return 0
