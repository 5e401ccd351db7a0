"""The bench: one review in progress, frame by frame."""
