"""Widgets draw what they are given and post messages; they own no rules."""
