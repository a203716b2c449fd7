"""What a carburettor does with air and fuel, averaged over a cycle.

Air past a slide or a floating piston, the depression that leaves at the needle jet, fuel through
jets in series, the pilot system with its screw. The model predicts how the mixture *changes* from
a set-up that is known; what it says of a bare carburettor is worth little, because pulsation and
the inertia of the fuel column move full-throttle mixture by a sixth. It knows plain numbers in SI
only: no engine file, no readings, no targets.
"""
