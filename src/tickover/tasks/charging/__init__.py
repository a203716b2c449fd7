"""Charging and battery, switches and senders: readings, verdicts, causes, the next best check."""

from tickover.tasks.charging.checks import CAUTIONS, checks
from tickover.tasks.charging.names import NAMES
from tickover.tasks.charging.typed import charging_reading
from tickover.tasks.charging.verdicts import findings

__all__ = ["CAUTIONS", "NAMES", "charging_reading", "checks", "findings"]
