"""What the adopted edition asks of a battery in service, for those who judge it."""

from __future__ import annotations

from estimator.takeoff.battery_service import BatteryRule, battery_rules, replace_by

__all__ = ["BatteryRule", "battery_rules", "replace_by"]
