"""Coax, pairs and mismatches against a network simulator that knows nothing of this house."""

from __future__ import annotations

import math
from functools import partial

import numpy as np
import pytest
import skrf
from skrf.media import Coaxial, DefinedGammaZ0

from estimator.calc import coax, copper_link, limit_line
from estimator.calc.copper_link import LIGHT_M_PER_S
from estimator.reference.lookup import table
from tests.calc.test_limit_line import component

DB_PER_NEPER = 20 / math.log(10)


def line(mhz: float, *, ohm: float, db_per_m: float, velocity: float, length_m: float):  # type: ignore[no-untyped-def]
    """Return a line of one impedance as a two-port in its own system of 75 or 100 ohm."""
    frequency = skrf.Frequency(mhz, mhz, 1, unit="MHz")
    gamma = db_per_m / DB_PER_NEPER + 2j * math.pi * mhz * 1e6 / (velocity * LIGHT_M_PER_S)
    media = DefinedGammaZ0(frequency, gamma=gamma, z0=complex(ohm))
    return media.line(length_m, unit="m")


def loss_db(network) -> float:  # type: ignore[no-untyped-def]
    """Return the insertion loss of a two-port [dB]."""
    return float(-20 * np.log10(abs(network.s[0, 1, 0])))


@pytest.mark.parametrize(("cable", "mhz", "length_m"), [("rg59_solid", 3.58, 120.0), ("series_6", 750, 60.96)])
def test_loss_of_a_matched_coaxial_line(cable: str, mhz: float, length_m: float) -> None:
    """A line in its own impedance loses what the coefficients say, and its level falls by that."""
    fit = table("coax_fit").find(cable=cable)
    per_100ft = coax.fitted_loss_db(k1=fit.number("k1"), k2=fit.number("k2"), frequency_mhz=mhz)
    own = coax.line_loss_db(db_per_100ft=per_100ft, length_m=length_m)
    network = line(mhz, ohm=75, db_per_m=per_100ft / coax.M_PER_100FT, velocity=0.66, length_m=length_m)

    assert loss_db(network) == pytest.approx(own, rel=1e-9)
    level = coax.video_level_vpp(emf_vpp=2, source_ohm=75, loads=1, load_ohm=75, loss_db=own)
    assert abs(network.s[0, 1, 0]) * 1.0 == pytest.approx(level, rel=1e-9)


def test_loss_of_a_link_is_that_of_its_parts_in_series() -> None:
    """45 m of Category 6 between two matched connections: decibels add."""
    per_m = component("cable_100_m", "6", "insertion_loss", 100) / 100
    connection = component("connector", "6", "insertion_loss", 100)
    part = partial(line, 100, ohm=100, velocity=0.7)
    mated = part(db_per_m=connection, length_m=1e-9 + 1.0)
    whole = mated ** part(db_per_m=per_m, length_m=45) ** mated
    own = limit_line.expected_loss_db(
        length_m=45, cable_db_per_100m=100 * per_m, connections=2, connection_db=connection
    )

    assert loss_db(whole) == pytest.approx(own, rel=1e-6)


@pytest.mark.parametrize(("load_ohm", "system_ohm"), [(50, 75), (93, 75), (120, 100), (85, 100)])
def test_return_loss_of_a_load_of_another_impedance(load_ohm: float, system_ohm: float) -> None:
    """Return loss and standing waves of a resistor on a line of another impedance."""
    frequency = skrf.Frequency(100, 100, 1, unit="MHz")
    media = DefinedGammaZ0(frequency, gamma=1j, z0=complex(system_ohm))
    load = media.resistor(load_ohm) ** media.short()
    own = coax.mismatch_return_loss_db(load_ohm=load_ohm, system_ohm=system_ohm)

    assert float(-20 * np.log10(abs(load.s[0, 0, 0]))) == pytest.approx(own, rel=1e-9)
    assert float(load.s_vswr[0, 0, 0]) == pytest.approx(coax.vswr(return_loss_db=own), rel=1e-9)


@pytest.mark.parametrize("cable_ohm", [85, 90, 105, 115])
def test_worst_return_loss_of_a_mismatched_section(cable_ohm: float) -> None:
    """A lossless section of another impedance returns most where it is a quarter of the wave long."""
    worst = math.inf
    for step in range(1, 80):
        length_m = step / 80 * 0.7 * LIGHT_M_PER_S / 100e6 / 2
        network = line(100, ohm=cable_ohm, db_per_m=0.0, velocity=0.7, length_m=length_m)
        network.renormalize(100)
        worst = min(worst, float(-20 * np.log10(abs(network.s[0, 0, 0]))))

    assert limit_line.worst_return_loss_db(cable_ohm=cable_ohm, system_ohm=100) == pytest.approx(worst, abs=1e-6)


def test_delay_of_a_pair_is_the_phase_of_its_line() -> None:
    """100 m at 0.69 of light's speed: 483.426 ns, from how the phase turns with the frequency."""
    phases = [
        np.angle(line(mhz, ohm=100, db_per_m=0.0, velocity=0.69, length_m=100).s[0, 1, 0]) for mhz in (10.0, 10.1)
    ]
    turned = -(phases[1] - phases[0]) % (2 * math.pi)

    assert turned / (2 * math.pi * 0.1e6) == pytest.approx(copper_link.delay_s(length_m=100, nvp=0.69), rel=1e-6)


@pytest.mark.parametrize(("cable", "center_m", "dielectric_m"), [("rg59_solid", 0.58e-3, 3.71e-3)])
def test_constant_of_a_cable_from_its_geometry(cable: str, center_m: float, dielectric_m: float) -> None:
    """Impedance and capacitance of RG-59 from its diameters: 73 ohm and 69 pF/m, within 3 % of the tabled ones."""
    frequency = skrf.Frequency(100, 100, 1, unit="MHz")
    media = Coaxial(frequency, Dint=center_m, Dout=dielectric_m, epsilon_r=1 / 0.66**2, sigma=1e30)
    ohm = float(media.z0[0].real)
    own = coax.capacitance_f_per_m(velocity=0.66, impedance_ohm=ohm, light_m_per_s=LIGHT_M_PER_S)

    # The cable's own diameters and 75 ohm are printed by different makers (handbook tables, confirmed).
    assert ohm == pytest.approx(75, rel=0.03), cable
    assert own * 1e12 == pytest.approx(67.4, rel=0.03)
