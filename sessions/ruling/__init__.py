"""From marks to a ruling: brackets, checks, attempts, the clock, the cups, and the words."""
