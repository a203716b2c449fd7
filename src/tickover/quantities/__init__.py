"""Units at the edges: what people type, exactly; what they are shown; what a reading is worth.

Inside Tickover numbers are SI floats. This package is the only place where a typed '6 thou' or
'10,7 bar' becomes one, and where one becomes text again. Conversions are exact fractions until
the last step. The bench's own units stand in a table; anything else a person may type is asked
of pint, which is loaded only then.
"""

from tickover.quantities.measured import Measured, carry
from tickover.quantities.parse import (
    Quantity,
    Range,
    parse,
    parse_number,
    parse_range,
    parse_series,
    whole_number,
)
from tickover.quantities.show import (
    UNITS_SHOWN,
    places_known,
    places_read,
    places_together,
    show,
    show_range,
    show_reading,
    shown_unit,
    to_unit,
)
from tickover.quantities.units import KINDS, Kind, Unit, find_unit, kind_of

__all__ = [
    "KINDS",
    "UNITS_SHOWN",
    "Kind",
    "Measured",
    "Quantity",
    "Range",
    "Unit",
    "carry",
    "find_unit",
    "kind_of",
    "parse",
    "parse_number",
    "parse_range",
    "parse_series",
    "places_known",
    "places_read",
    "places_together",
    "show",
    "show_range",
    "show_reading",
    "shown_unit",
    "to_unit",
    "whole_number",
]
