"""Events and what they ask: formations, the ladder of checkpoints made from them, the rulebook."""
