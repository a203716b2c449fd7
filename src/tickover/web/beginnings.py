"""The first lines of each part of an engine file, shown where a page has nothing to show yet.

Each is sound as it stands; its figures are invented and say so by being round.
"""

from __future__ import annotations

from types import MappingProxyType

BEGINNINGS = MappingProxyType(
    {
        "valves": """[valves]
inlet = 1  # per cylinder
exhaust = 1
adjustment = "screw and locknut"
inlet_clearance = "0.05..0.10 mm"
exhaust_clearance = "0.10..0.15 mm"
""",
        "shims": """[valves]
inlet = 1  # per cylinder
exhaust = 1
adjustment = "shim over bucket"
inlet_clearance = "0.10..0.15 mm"
exhaust_clearance = "0.15..0.20 mm"

[shims]
sizes = "2.00..3.20 mm step 0.05 mm"
""",
        "fits": """[[fits]]
name = "cylinder"
kind = "bore"
places = ["cyl1"]
limits = "60.00..60.02 mm"
wear_limit = "60.10 mm"
""",
        "fasteners": """[[fasteners]]
name = "head bolts"
thread = "M8x1.25"
torque = "22 Nm"
count = 4
""",
        "controls": """[controls]
throttle_free_play = "2..4 mm"  # at the rim of the grip
clutch_free_play = "2..3 mm"  # at the end of the lever
""",
        "charging": """[battery]
volts = 12
capacity = 14
at_rest = "12.5 V"

[charging]
regulator = "13.8..14.6 V"
""",
        "mixture": """[carburettors]
kind = "slide"                    # or "vacuum"
bore = "28 mm"
needle_jet = "2.8 mm"
top_speed = "8000 rpm"

[carburettors.pilots]
sizes = [35, 38, 40]

[carburettors.mains]
sizes = [95, 98, 100, 102, 105]

[[carburettors.needles]]
name = "N1"
profile = [["0 mm", "2.70 mm"], ["30 mm", "2.70 mm"], ["50 mm", "1.60 mm"]]

[carburettors.fitted]
pilot = 38
main = 102
needle = "N1"
clip = 3
screw_turns = 1.5
""",
        "strobe": """[ignition]
advance = [[1500, 10], [3000, 35]]  # rpm, degrees before the top
""",
        "noise": """[noise]
limit = "96 dB"
given_by = "the plate"
at_speed = "4000 rpm"
""",
        "loom": """[wiring]
battery = "battery"  # points are named as you like
fuses = "fuse box"
main_fuse = "20 A"

[[branches]]
from = "battery"
to = "fuse box"
length = "300 mm"

[[branches]]
from = "fuse box"
to = "tail"
length = "1.1 m"

[[circuits]]
name = "tail lamp"
colour = "BN"

[[loads]]
name = "tail lamp"
kind = "lamp"
circuit = "tail lamp"
at = "tail"
rated = "5 W"
""",
    }
)
"""Part to its lines."""
