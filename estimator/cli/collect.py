"""The verb that takes filled field sheets into the readings folder, and decisions about what was collected."""

from __future__ import annotations

import sys
from argparse import Namespace
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Final

from estimator.cli.show import count, dump, loaded, print_faults
from estimator.spec.model import Project

if TYPE_CHECKING:
    from estimator.field.collect import Report
    from estimator.field.outcome import Outcome
    from estimator.field.preview import Listed
    from estimator.field.rows import Decision
    from estimator.field.verdicts import CircuitResult

DECISIONS: Final = ("void", "restore", "remap", "accept", "waive")
_SAID: Final = ("reason", "name", "role", "date", "reference", "test")
_READ: Final = ("mapping", "decimals", "dates", "lengths")
_NOW: Final = 12  # circuits whose verdicts are told after a decision
_SHOWN: Final = 40  # lines of one kind that a person reads; the rest is counted


def collect(chosen: Namespace) -> int:
    """Take sheets in, or a decision, and say what became of them. Returns 1 where a file gave nothing."""
    wrong = _misused(chosen)
    if wrong:
        print(f"dropledger: {wrong}", file=sys.stderr)
        return 2
    project = loaded(chosen.spec)
    if project is None:
        return 1
    made = _decision(chosen)
    return _decide(project, made, chosen.format) if made is not None else _take(project, chosen)


def _misused(chosen: Namespace) -> str:
    """Return what is wrong with the usage; empty where nothing is."""
    asked = [f"--{name}" for name in DECISIONS if getattr(chosen, name) is not None]
    if len(asked) > 1:
        return f"{' and '.join(asked)}: one decision at a time"
    handed = [*chosen.sheets, *chosen.evidence, *(name for name in _READ if getattr(chosen, name))]
    if asked and handed:
        return f"{asked[0]} stands alone: collect sheets in a call of their own"
    if not asked and not chosen.sheets and not chosen.evidence:
        return "collect: name a sheet, --evidence, or a decision; `dropledger collect --help` lists them"
    if chosen.mapping and chosen.lengths:
        return "--lengths: the mapping names the unit of each column"
    said = [f"--{name}" for name in _SAID if getattr(chosen, name)]
    if not asked and said:
        return f"{said[0]} belongs to a decision such as --void"
    return ""


def _decision(chosen: Namespace) -> Decision | None:
    from estimator.field.rows import Decision

    for kind in DECISIONS:
        value = getattr(chosen, kind)
        if value is not None:
            target, to = value if kind == "remap" else (value, chosen.test.strip().casefold().replace(" ", "_"))
            role = chosen.role.strip().casefold().replace(" ", "_").replace("-", "_")
            return Decision(
                kind=kind, target=target, to=to, reason=chosen.reason, name=chosen.name, role=role,
                date=chosen.date, reference=chosen.reference,
            )  # fmt: skip
    return None


def _decide(project: Project, decision: Decision, form: str) -> int:
    from estimator.field.batches import read_folder
    from estimator.field.collect import folder_of
    from estimator.field.decide import decide
    from estimator.field.history import said_in_words
    from estimator.spec.faults import ProblemError

    try:
        kept = decide(project, decision)
    except ProblemError as wrong:
        print(f"{wrong}; expected {wrong.expected}; {wrong.mend}", file=sys.stderr)
        return 1
    stored = read_folder(folder_of(project))
    made = next(one for one in (*stored.decisions, *stored.withdrawn) if one.batch == kept.batch)
    if form == "json":
        print(dump({"new": kept.new, **asdict(made)}))
    else:
        print(f"{'decided' if kept.new else 'known, nothing changed'}: {said_in_words(made)}")
        for line in _now(project, made):
            print(line)
    print_faults(stored.faults, sys.stderr)
    return int(bool(stored.faults))


def _now(project: Project, made: Decision) -> Iterator[str]:
    """Yield the verdicts of the circuits that a decision is about; of many only how many they are."""
    from estimator.field.history import concerns, histories
    from estimator.field.job import judge_job
    from estimator.takeoff.takeoff import take_off

    takeoff = take_off(project)
    if takeoff.faults:
        return
    circuit = {"remap": made.to, "accept": made.target, "waive": made.target}.get(made.kind, "")
    named = histories(judge_job(takeoff), circuit)
    concerned = named if circuit else [one for one in named if concerns(one, made.target)]
    if len(concerned) > _NOW:
        yield f"now: {len(concerned)} circuits are judged anew; `dropledger readings` lists them"
        return
    for one in concerned:
        state = one.circuit
        yield f"now: {state.id}: {state.word}{_rest(made, state)}"


def _rest(made: Decision, state: CircuitResult) -> str:
    """Return what a signature did to a circuit, or why it did nothing."""
    if state.accepted:
        return ", accepted"
    if made.kind == "accept":
        return "; there is nothing to accept yet"
    if made.kind == "waive" and state.word == "fail":
        return "; a waiver covers what was not tested, not what failed: mend it, or void the row that is wrong"
    return ""


def _take(project: Project, chosen: Namespace) -> int:
    from estimator.field.collect import collect as take
    from estimator.field.mapping import load_mapping
    from estimator.field.taken import How

    mapping = None
    if chosen.mapping:
        mapping, faults = load_mapping(Path(chosen.mapping))
        if mapping is None or faults:
            print_faults(faults, sys.stderr)
            print(f"{count(len(faults), 'fault')} in the mapping; nothing was taken", file=sys.stderr)
            return 1
    options = {name: getattr(chosen, name) or "" for name in ("decimals", "dates", "lengths")}
    how = How(mapping=mapping, options=options)
    evidence = [Path(file) for file in chosen.evidence]
    report = take(project, [Path(sheet) for sheet in chosen.sheets], how=how, evidence=evidence)
    outcome = outcome_for(project, report)
    if chosen.format == "json":
        print(dump(_report_json(report, outcome)))
    else:
        print_report(report, outcome)
    print_faults(report.faults, sys.stderr)
    if report.stopped:
        gave = f"{len(_gave(report))} of {count(len(chosen.sheets), 'file')}"
        print(f"{report.stopped}; {gave} taken before, no half file is left; make room and run it again: "
              "what is there is not taken twice", file=sys.stderr)  # fmt: skip
    return int(bool(report.faults) or bool(report.stopped) or _some_empty(report, [*chosen.sheets, *chosen.evidence]))


def outcome_for(project: Project, report: Report) -> Outcome | None:
    """Return what the new rows change when the job is judged; None where nothing is new or it can't be judged."""
    from estimator.field.job import judge_job
    from estimator.field.outcome import outcome_of
    from estimator.takeoff.takeoff import take_off

    if not report.taken:
        return None
    takeoff = take_off(project)
    return None if takeoff.faults else outcome_of(judge_job(takeoff), report.batches)


def _gave(report: Report) -> set[str]:
    return {sheet.file for sheet in report.taken} | {known.file for known in report.known}


def _some_empty(report: Report, files: list[str]) -> bool:
    gave = {Path(name).name for name in _gave(report)} | {kept.file for kept in report.evidence}
    return any(Path(file).name not in gave for file in files)


def print_report(report: Report, outcome: Outcome | None = None) -> None:
    """Print what was taken, superseded, known, kept aside and why."""
    for line in _lines(report, outcome):
        print(line)


def _lines(report: Report, outcome: Outcome | None) -> Iterator[str]:
    for sheet in report.taken:
        where = f"{sheet.file}, sheet {sheet.tab}" if sheet.tab else sheet.file
        blank = f"; {count(sheet.untouched, 'row')} not filled in" if sheet.untouched else ""
        again = f"; {sheet.repeats} of them as collected before" if sheet.repeats else ""
        what = f"{count(sheet.rows, 'row')} of {sheet.medium.replace('_', ' ')}{again}{blank}"
        yield f"taken: {where}: {what}; batch {sheet.batch[:12]}"
    for kept in report.evidence:
        backs = f"it backs {count(kept.backs, 'row')}" if kept.backs else "no row names it yet"
        yield f"evidence: {kept.file} is kept by its hash {kept.digest[:12]}; {backs}"
    for known in report.known:
        short = known.batch[:12]
        rest = f" was voided: `--restore {short}` lets it count again" if known.void else ""
        yield f"known: {known.file} was collected before, byte for byte; nothing changed; batch {short}{rest}"
    for aside in report.aside:
        yield f"aside: {aside}"
    for form in report.not_filled:
        yield f"not filled in: {form}"
    for listed in report.no_circuit:
        yield f"no circuit: {listed}"
    if outcome is not None:
        yield from _some("superseded", [str(one) for one in outcome.superseded])
        yield from _some("not used", [str(one) for one in outcome.not_used])
        noted = [(note.place, note.remark) for note in report.notes]
        yield from _some("not judged", [str(one) for one in outcome.not_judged if not _is_noted(one, noted)])
    yield from _some("note", [str(note) for note in report.notes], "--format json lists all")
    taken = f"{count(report.rows, 'row')} from {count(len(report.taken), 'sheet')}"
    yield f"{taken} into {report.folder}; verdicts are given when the job is judged"


def _is_noted(one: Listed, noted: list[tuple[str, str]]) -> bool:
    """Return whether a reason is told already as a remark on the cell itself."""
    why = one.remark.partition(": ")[2]
    return any(place == one.place and why in remark for place, remark in noted)


def _some(
    word: str, listed: list[str], rest: str = "`dropledger readings` lists every circuit's history"
) -> Iterator[str]:
    yield from (f"{word}: {line}" for line in listed[:_SHOWN])
    if len(listed) > _SHOWN:
        yield f"{word}: {len(listed) - _SHOWN:,} more; {rest}"


def _report_json(report: Report, outcome: Outcome | None) -> dict[str, object]:
    return {
        "folder": report.folder,
        "rows": report.rows,
        "taken": [asdict(sheet) for sheet in report.taken],
        "evidence": [asdict(kept) for kept in report.evidence],
        "known": [asdict(known) for known in report.known],
        "aside": [asdict(aside) for aside in report.aside],
        "not_filled": [asdict(form) for form in report.not_filled],
        "no_circuit": [asdict(listed) for listed in report.no_circuit],
        "superseded": [asdict(one) for one in outcome.superseded] if outcome else [],
        "not_used": [asdict(one) for one in outcome.not_used] if outcome else [],
        "not_judged": [asdict(one) for one in outcome.not_judged] if outcome else [],
        "notes": [asdict(note) for note in report.notes],
        "faults": [str(fault) for fault in report.faults],
        "stopped": report.stopped,
    }
