"""The settling screen: two finished reviews of one claim, side by side."""
