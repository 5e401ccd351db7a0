"""Between reviewers: where their reviews differ, how that is settled, and how far they agree."""
