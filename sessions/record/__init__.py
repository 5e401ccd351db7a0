"""The session file: its entries, the journal that keeps them, and what they say together."""
