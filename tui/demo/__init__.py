"""Invented footage of an invented league, in which every truth is known to the frame.

Nothing here shows a real person, league, brand or performance.
"""
