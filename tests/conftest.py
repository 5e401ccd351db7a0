"""Settings for all tests."""

from tests.proofs import register_profiles

register_profiles()
