"""A season of claims: their states, their order of work, and the register of rulings."""
