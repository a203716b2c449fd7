"""One cylinder being cranked, as a row of numbers for compiled loops.

`tickover.physics.cylinder` fills such a row, the loops of `cylinder_kernel` read it.
"""

# Columns of a parameter row, SI, angles in rad over 0..4 pi with 0 at firing top dead centre.
BORE, STROKE, ROD, RATIO = 0, 1, 2, 3
IN_OPENS, IN_CLOSES, EX_OPENS, EX_CLOSES = 4, 5, 6, 7
IN_AREA, IN_CAP, EX_AREA, EX_CAP = 8, 9, 10, 11  # effective, at full lift; cap of the port
LEAK, CREVICE, OIL = 12, 13, 14
HEAT, WALL_T = 15, 16
AIR_P, AIR_T, SPEED = 17, 18, 19
THROTTLE, PORT_V = 20, 21
GAUGE_V, CHECK_AREA, CRACKING, DEAD_V = 22, 23, 24, 25  # DEAD_V: hose before the check valve
COLUMNS = 26
