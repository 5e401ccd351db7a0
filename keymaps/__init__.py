"""Commands and their keys as data: the one registry, the keymaps and the printed key card."""
