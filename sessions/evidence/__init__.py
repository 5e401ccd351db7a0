"""What a look at a frame can say: brackets, verdicts, sets of frames and time codes."""
