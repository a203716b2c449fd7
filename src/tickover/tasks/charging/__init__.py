"""Charging and battery, switches and senders: readings, verdicts, causes, the next best check."""

from tickover.tasks.charging.checks import CAUTIONS, checks
from tickover.tasks.charging.names import BATTERY, NAMES
from tickover.tasks.charging.typed import charging_reading
from tickover.tasks.charging.verdicts import findings

__all__ = ["BATTERY", "CAUTIONS", "NAMES", "charging_reading", "checks", "findings"]
