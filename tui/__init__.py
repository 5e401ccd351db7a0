"""The terminal application."""
