"""Criteria of coaxial runs: continuity, loop of center and shield, loss, return loss, video level."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from typing import Final

from estimator.acceptance.basis import Basis, length_criterion, words
from estimator.acceptance.criterion import Bound, Criteria, Criterion, Settings
from estimator.acceptance.lines import CLEAR, loop_criterion, system_of
from estimator.calc.coax import fitted_loss_db, line_loss_db, most_loop_ohm, video_level_vpp
from estimator.calc.formula import Expression
from estimator.reference.lookup import Row, table
from estimator.spec.model import Cable
from estimator.takeoff.coax_runs import CoaxCable, fact, frequency_of, listed_loss_db, loss_row
from estimator.takeoff.footage import Length

VIDEO_LEAST: Final = Expression("low_vpp * sent_vpp / nominal_vpp * 10 ** (-loss_db / 20)")
"""Least video level at the far end: the band's low end for the level sent, less the line's loss."""

VIDEO_STATES: Final = ("terminated", "bridging")


def coax_criteria(basis: Basis, length: Length, far_end: str) -> Criteria:
    """Return what a coaxial circuit must show."""
    cable, tests = length.cable, basis.tests_of(length, "coax")
    coax = basis.coax.of(cable)
    found = [
        words("open_short", "Center to shield, far end open", CLEAR, "continuity practice", "open_short" in tests),
        length_criterion(basis, length, tests),
        _loop(basis, length, coax, "resistance" in tests),
        *_loss(basis, length, tests),
        *_video(basis, length, tests),
    ]
    expected = _expected_ohm(coax, length)
    return Criteria(
        id=length.id,
        circuit=length.id,
        medium="coax",
        system=system_of(length, "coax"),
        room=length.room,
        far_end=far_end,
        cable=cable.id,
        expected_m=length.expected_m,
        expected_loop_ohm=expected,
        settings=Settings(nvp=cable.nvp, nvp_typed="nvp" not in cable.typical),
        criteria=tuple(found),
        expected_volts=next((c.expected for c in found if c.test == "video_level" and c.required), None),
    )


def _expected_ohm(coax: CoaxCable, length: Length) -> float | None:
    """Return the loop that a meter should show [ohm]; None where the metal of the center or its shield is open."""
    known = coax.least_ohm_per_m == coax.most_ohm_per_m
    return coax.most_ohm_per_m * length.expected_m if known else None


def _loop(basis: Basis, length: Length, coax: CoaxCable, required: bool) -> Criterion:
    """Return the criterion of center and shield, joined at the far end: what the sound cable can have."""
    rules = basis.project.rules
    most = most_loop_ohm(
        length_m=length.expected_m,
        most_ohm_per_m=coax.most_ohm_per_m,
        tolerance=rules.loop_tolerance,
        leads_ohm=fact("meter_leads").number("value"),
    )
    source = f"{coax.source}; {100 * rules.loop_tolerance:g} % and leads"
    own = Bound(name="loop of this length", value=most, source=source, confidence=coax.confidence)
    return replace(loop_criterion(basis, length, required, own), expected=_expected_ohm(coax, length))


def _loss(basis: Basis, length: Length, tests: frozenset[str]) -> Iterable[Criterion]:
    """Yield loss and return loss at the frequency that the project file asks for; nothing without one."""
    asked = basis.asked(length.cable)
    if asked is None or asked.frequency_hz is None:
        return
    mhz = frequency_of(length.cable, basis.project)
    factor = basis.coax.warm_loss
    per_100ft, row = fitted(length.cable, mhz)
    bounds = list(_loss_bounds(length, mhz, factor))
    if asked.loss_max_db is not None:
        bounds.append(Bound(name="project limit", value=asked.loss_max_db, source=f"acceptance, {asked.source.at()}"))
    least = min(bounds, key=lambda bound: bound.value) if bounds else None
    yield Criterion(
        test="loss",
        label=f"Loss at {mhz:g} MHz",
        unit="dB",
        decimals=2,
        high=least.value if least else None,
        required="loss" in tests,
        bounds=tuple(bounds),
        source=f"{least.name}: {least.source}" if least else f"no limit typed; expected by {row.source}",
        confidence=least.confidence if least else "",
        expected=line_loss_db(db_per_100ft=per_100ft, length_m=length.expected_m, factor=factor),
    )
    floor = fact("link_return_loss_least")
    typed = asked.return_loss_min_db
    yield Criterion(
        test="return_loss",
        label=f"Return loss at {mhz:g} MHz",
        unit="dB",
        low=floor.number("value") if typed is None else typed,
        required="return_loss" in tests,
        source=floor.source if typed is None else f"acceptance, {asked.source.at('return_loss_min')}",
        confidence=floor.confidence if typed is None else "",
    )


def _loss_bounds(length: Length, mhz: float, factor: float) -> Iterable[Bound]:
    listed = listed_loss_db(length.cable, mhz)
    if listed is not None:
        per_100ft, row = listed
        value = line_loss_db(db_per_100ft=per_100ft, length_m=length.expected_m, factor=factor)
        yield Bound(name="largest loss of the cable", value=value, source=row.source, confidence=row.confidence)


def fitted(cable: Cable, mhz: float) -> tuple[float, Row]:
    """Return the loss of a cable type at a frequency [dB per 100 ft] and the row of its model."""
    fit = loss_row(cable)
    return fitted_loss_db(k1=fit.number("k1"), k2=fit.number("k2"), frequency_mhz=mhz), fit


def video_loss_db(cable: Cable, length_m: float) -> tuple[float, str]:
    """Return the loss of a video line at the color subcarrier [dB] and its source."""
    mhz = table("video_facts").find(name="subcarrier_ntsc").number("value")
    per_100ft, fit = fitted(cable, mhz)
    return line_loss_db(db_per_100ft=per_100ft, length_m=length_m), fit.source


def _video(basis: Basis, length: Length, tests: frozenset[str]) -> Iterable[Criterion]:
    device = length.run.device if length.run else None
    if "video_level" not in tests and (device is None or device.system != "video"):
        return
    levels, facts = table("video_levels"), table("video_facts")
    nominal = levels.find(state="terminated").number("level_vpp")
    sent = device.video_level_v if device and device.video_level_v is not None else nominal
    loss, source = video_loss_db(length.cable, length.expected_m)
    asked = basis.asked(length.cable)
    planned = (asked.video_state if asked else None) or "terminated"
    ohm = facts.find(name="impedance").number("value")
    for state in VIDEO_STATES:
        row = levels.find(state=state)
        low = VIDEO_LEAST(low_vpp=row.number("low_vpp"), sent_vpp=sent, nominal_vpp=nominal, loss_db=loss)
        expected = video_level_vpp(
            emf_vpp=2 * sent, source_ohm=ohm, loads=int(row.number("loads")), load_ohm=ohm, loss_db=loss
        )
        yield Criterion(
            test="video_level",
            position=state,
            label=f"Video level, {state}",
            unit="V",
            decimals=2,
            state=state,
            low=low,
            high=row.number("high_vpp") * sent / nominal,
            expected=expected,
            confidence=row.confidence,
            required="video_level" in tests and state == planned,
            source=f"{row.source}; line loss: {source}",
        )
