"""Blocks: the geometry of a garment type, from measures to edges that close."""
