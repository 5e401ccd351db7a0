"""Invented footage: an invented league, drawn and encoded so that every truth is known to the frame.

Nothing here shows a real person, league, brand or performance.
"""
