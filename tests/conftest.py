"""Settings every test shares."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

# Two busy cores make wall-clock deadlines meaningless; the same examples are tried every time.
settings.register_profile(
    "bench",
    deadline=None,
    derandomize=True,
    max_examples=int(os.environ.get("TICKOVER_EXAMPLES", "60")),
    suppress_health_check=[HealthCheck.too_slow],
)
settings.load_profile("bench")
