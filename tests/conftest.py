"""How hypothesis runs: the same examples each time unless HYPOTHESIS_PROFILE says otherwise."""

from __future__ import annotations

import os

from hypothesis import HealthCheck, settings

settings.register_profile("ci", max_examples=30, deadline=None, derandomize=True)
settings.register_profile("dev", max_examples=60, deadline=400)
settings.register_profile(
    "deep",
    max_examples=2000,
    deadline=None,
    suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much],
)
settings.load_profile(os.environ.get("HYPOTHESIS_PROFILE", "ci"))
