"""Photographs of a swatch: stitches counted from a picture, its scale, and why a picture can't be read."""
