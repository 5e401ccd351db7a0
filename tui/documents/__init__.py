"""Ruling documents: what is sent to a claimant and kept for good, made from a session."""
