"""Settings shared by all tests."""

import os

from hypothesis import HealthCheck, settings

# The same examples on every run, so that a test that passes here passes everywhere. SEAMTREE_HYPOTHESIS=deep looks
# further, with new examples each time.
settings.register_profile(
    "fast", deadline=None, derandomize=True, max_examples=40, suppress_health_check=[HealthCheck.too_slow]
)
settings.register_profile("deep", deadline=None, max_examples=2000, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile(os.environ.get("SEAMTREE_HYPOTHESIS", "fast"))
