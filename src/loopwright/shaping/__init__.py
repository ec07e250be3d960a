"""From outlines to needles and courses: rounding, fashioning, bind-off, short rows, neck, bands, the knit-down."""
