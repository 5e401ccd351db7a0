"""Settings for all tests."""

from hypothesis import HealthCheck, settings

# Machines are noisy: a slow moment is no failure, and speed is measured by the benchmarks.
settings.register_profile("framecall", deadline=None, suppress_health_check=[HealthCheck.too_slow])
settings.load_profile("framecall")
