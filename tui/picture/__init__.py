"""From pixels to cells. It knows no Textual and no decoder."""
