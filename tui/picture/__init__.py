"""Pictures of the footage as a terminal can show them: cells of glyphs and colours, or pixels."""
