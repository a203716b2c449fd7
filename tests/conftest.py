"""Settings every test shares."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

# Set before NumPy is loaded: the tests run in several processes, and each one's own threads for
# small matrices only wait for each other (listening takes half the processor time without them).
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

# A test works its answers out; those that prove the keeping set a folder of their own.
os.environ["TICKOVER_ANSWERS"] = "off"

# Two busy cores make wall-clock deadlines meaningless; the same examples are tried every time.
settings.register_profile(
    "bench",
    deadline=None,
    derandomize=True,
    max_examples=int(os.environ.get("TICKOVER_EXAMPLES", "60")),
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("bench")
