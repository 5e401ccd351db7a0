"""The domain: what was seen, the rules of the trade, the session file and the ruling. Pure."""
