"""An independent instrument: a cable tester that finds faults by reflection, simulated with scikit-rf.

The line is a uniform one of 100 ohm with skin-effect loss, its end open, and at the fault the pair is open
or bridged by a few ohms. The tester sends a step of limited bandwidth and reads where the reflection
begins, by the velocity that it is set to.
"""

from __future__ import annotations

import numpy as np
import skrf
from numpy.typing import NDArray
from skrf.media import DefinedGammaZ0

LIGHT_M_PER_S = 299_792_458.0  # SI definition
IMPEDANCE_OHM = 100.0
POINTS = 1024
STOP_HZ = 300e6
LOSS_DB_PER_100M_AT_100MHZ = 20.0  # about what ANSI/TIA-568.2-D allows category 6 cable (19.8 dB)


class Reflectometer:
    """Finds the first reflection on a pair."""

    def __init__(self, *, set_velocity: float) -> None:
        """Set the velocity that the instrument counts with, as a share of light's."""
        self.set_velocity = set_velocity
        self.frequency = skrf.Frequency(STOP_HZ / POINTS, STOP_HZ, POINTS, unit="hz")

    def _line(self, velocity: float) -> DefinedGammaZ0:
        hertz = self.frequency.f
        db_per_m = LOSS_DB_PER_100M_AT_100MHZ / 100 * np.sqrt(hertz / 100e6)
        gamma = db_per_m / 8.685889638 + 2j * np.pi * hertz / (velocity * LIGHT_M_PER_S)
        return DefinedGammaZ0(self.frequency, z0=IMPEDANCE_OHM, gamma=gamma)

    def distance_m(self, *, fault_m: float, length_m: float, velocity: float, shorted: bool) -> float:
        """Return what the instrument shows for a fault at a distance [m], to a tenth of a meter."""
        line = self._line(velocity)
        if shorted:
            beyond = line.line(length_m - fault_m, "m") ** line.open()
            seen = line.line(fault_m, "m") ** (line.shunt(line.resistor(2.0) ** line.short()) ** beyond)
        else:
            seen = line.line(fault_m, "m") ** line.open()
        return round(self.set_velocity * LIGHT_M_PER_S * self._first_edge_s(seen.s[:, 0, 0]) / 2, 1)

    def _first_edge_s(self, reflected: NDArray[np.complex128]) -> float:
        """Return the round trip to the first edge: where the impulse response first reaches half its peak."""
        window = 0.5 * (1 + np.cos(np.pi * np.arange(POINTS) / POINTS))
        spectrum = np.concatenate(([reflected[0].real], reflected * window))
        fine = 16 * POINTS
        impulse = np.abs(np.fft.irfft(spectrum, n=fine))
        step_s = 1 / (fine * STOP_HZ / POINTS)
        peak = int(np.argmax(impulse[: fine // 2]))
        return peak * step_s
