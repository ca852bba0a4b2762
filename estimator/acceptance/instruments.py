"""Whether a test instrument is within its calibration on a day."""

from __future__ import annotations

from datetime import date

from estimator.spec.quality import Instrument


def past_due(instrument: Instrument, day: date | None) -> bool:
    """Return whether a day lies after the day on which the instrument's calibration fell due.

    On the due day itself it is still in date; without a due date or a day nothing can be said.
    """
    due = instrument.calibration_due
    return due is not None and day is not None and day > due
