"""Patterns of coaxial readings at a frequency: a line that loses too much, or sends too much back."""

from __future__ import annotations

import math
from collections.abc import Iterable

from estimator.calc.coax import vswr
from estimator.field.suspect import Site, Suspect, finding
from estimator.field.verdicts import Finding


def coax_loss(suspect: Suspect, _site: Site) -> Iterable[Finding]:
    """Loss or return loss of a coaxial line that fails: a bad connector does both, a lossy cable only the first."""
    if suspect.criteria.medium != "coax":
        return
    loss, returned = suspect.failed("loss"), suspect.failed("return_loss")
    if loss is not None:
        expected = loss.criterion.expected if loss.criterion else None
        told = f", expected {expected:.2f} dB" if expected is not None else ""
        look = "the connectors at both ends" if returned is not None else "another family of cable, or water in it"
        yield finding(suspect, "lossy line", "loses more than its cable", f"{loss.shown}{told}", look)
    if returned is not None:
        db = returned.value
        known = isinstance(db, float) and math.isfinite(db) and db > 0
        waves = f", standing waves {vswr(return_loss_db=db):.2f} to 1" if known and isinstance(db, float) else ""
        look = "a loose or crushed connector first, then a kink, a splitter or an open tap"
        yield finding(suspect, "mismatch", "sends too much back", f"{returned.shown}{waves}", look)
