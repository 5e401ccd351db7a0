"""Footage: exact frames and exact times out of a video file, and nothing about terminals."""
