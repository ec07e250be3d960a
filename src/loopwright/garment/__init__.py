"""The garment before it is knitted: bodies, sizes, ease, points of measure, grading, blocks and outlines."""
