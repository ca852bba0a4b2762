"""The verb that lists what was read of a circuit, round by round, and what of it counts."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Iterator, Sequence
from dataclasses import asdict

from estimator.cli.show import count, dump, print_faults, worked_out
from estimator.documents.job_readings import standing
from estimator.field.batches import is_void
from estimator.field.corrections import wrong_corrections
from estimator.field.history import History, histories, loose_decisions, said_in_words
from estimator.field.job import Job, judge_job
from estimator.field.rows import SHORT
from estimator.field.verdicts import Reading, Try
from estimator.spec.faults import nearest


def readings(chosen: Namespace) -> int:
    """Print the history of one circuit, or a line a circuit. Returns 1 for a circuit that isn't in the job."""
    takeoff = worked_out(chosen.spec, "no readings are shown until they are mended")
    if takeoff is None:
        return 1
    job = judge_job(takeoff)
    found = histories(job, chosen.circuit or "")
    if chosen.circuit and not found:
        close = nearest(chosen.circuit, [one.id for one in job.result.circuits])
        mend = f"write {close}" if close else "mend the id"
        print(f"circuit {chosen.circuit!r} is not in the job; expected the id of a circuit; {mend}", file=sys.stderr)
        return 1
    if chosen.format == "json":
        print(dump(_json(job, found, whole=not chosen.circuit)))
    elif chosen.circuit:
        print("\n".join(line for one in found for line in _whole(one)))
    else:
        print("\n".join(_overview(job, [one for one in found if not one.empty])))
    print_faults(job.stored.faults, sys.stderr)
    return int(bool(job.stored.faults))


def _whole(one: History) -> Iterator[str]:
    """Yield the lines of one circuit, the earliest round first."""
    circuit = one.circuit
    accepted = f"; accepted by {circuit.accepted.name}, {circuit.accepted.day}" if circuit.accepted else ""
    yield f"{circuit.id}: {circuit.word}{f', {circuit.why}' if circuit.why else ''}{accepted}"
    for each in circuit.history:
        yield f"  {each.name}: {each.word}{'' if each.current else ' (history: a later one stands)'}"
        for row in each.rows:
            yield f"    {row.place}; row {row.key}; {standing(row)}"
        for reading in each.readings:
            yield f"      {_reading(reading)}"
    for aside in one.aside:
        yield f"  not used: {aside.row.place}; row {aside.row.key}: {aside.kind}, {aside.why}"
    for made in one.decisions:
        yield f"  decided: {said_in_words(made)}"
    for made in one.withdrawn:
        yield f"  withdrawn: {said_in_words(made)}"
    if one.empty:
        yield "  nothing was read or decided"


def _reading(one: Reading) -> str:
    return f"{one.label}: {one.shown}: {one.word}{f' ({one.why})' if one.why else ''}"


def _overview(job: Job, found: Sequence[History]) -> Iterator[str]:
    for one in found:
        rounds = count(len(one.circuit.history), "round")
        rest = f"; {count(len(one.aside), 'row')} not used" if one.aside else ""
        yield f"{one.circuit.id}: {one.circuit.word}; {rounds}{rest}"
    shown = {id(aside) for one in found for aside in one.aside}
    for aside in job.result.unplaced:
        if id(aside) not in shown:
            yield f"not used: {aside.row.place}; row {aside.row.key}: {aside.kind}, {aside.why}"
    for made in loose_decisions(job, found):
        yield f"decided: {said_in_words(made)}"
    for _, wrong in wrong_corrections(job.stored):
        yield f"note: {wrong}"
    for batch in job.stored.batches:
        if batch.kind == "sheet":
            void = "; void" if is_void(batch.id, job.stored.decisions) else ""
            yield f"batch {batch.id[:SHORT]}: {batch.file}, {count(batch.rows, 'row')}{void}"
    for kept in job.stored.evidence:
        names = ", ".join(f"{file.file} (sha256 {file.digest[:SHORT]})" for file in kept.files)
        yield f"batch {kept.batch[:SHORT]}: evidence {names}"
    yield f"{count(len(found), 'circuit')} of {len(job.result.circuits):,} with readings or decisions"


def _json(job: Job, found: Sequence[History], *, whole: bool) -> dict[str, object]:
    listed: dict[str, object] = {"circuits": [_circuit_json(one) for one in found if not (whole and one.empty)]}
    if whole:
        listed["batches"] = [
            {"batch": one.id, "kind": one.kind, "file": one.file, "rows": one.rows,
             "void": is_void(one.id, job.stored.decisions)}
            for one in job.stored.batches
        ]  # fmt: skip
        listed["evidence"] = [asdict(one) for one in job.stored.evidence]
        listed["decisions"] = [asdict(made) for made in loose_decisions(job, found)]
        listed["notes"] = [str(wrong) for _, wrong in wrong_corrections(job.stored)]
    listed["faults"] = [str(fault) for fault in job.stored.faults]
    return listed


def _circuit_json(one: History) -> dict[str, object]:
    return {
        "circuit": one.circuit.id,
        "word": one.circuit.word,
        "why": one.circuit.why,
        "rounds": [_try_json(each) for each in one.circuit.history],
        "not_used": [
            {"place": each.row.place, "row": each.row.key, "kind": each.kind, "why": each.why} for each in one.aside
        ],
        "decisions": [asdict(made) for made in one.decisions],
        "withdrawn": [asdict(made) for made in one.withdrawn],
    }


def _try_json(each: Try) -> dict[str, object]:
    return {
        "round": each.round,
        "date": each.day.isoformat() if each.day else None,
        "word": each.word,
        "counts": each.current,
        "rows": [
            {
                "place": row.place,
                "row": row.key,
                "batch": row.batch,
                "standing": standing(row),
                "cells": dict(row.cells),
            }
            for row in each.rows
        ],
        "readings": [
            {"test": r.test, "position": r.position, "text": r.text, "unit": r.unit, "word": r.word, "why": r.why}
            for r in each.readings
        ],
    }
