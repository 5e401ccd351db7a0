"""Exit codes, the same for all commands."""

RULED = 0
"""Done; for ``rule``: the ruling is made."""

OPEN = 1
"""For ``rule``: the ruling is still open."""

BAD_INPUT = 2
"""The input cannot be used; one sentence on standard error says what, where and what to do."""
