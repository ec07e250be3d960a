"""Stitch structures: the needle notation, its library, and what can be counted from it."""
