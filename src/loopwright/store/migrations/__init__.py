"""How the tables of the shelf came to be: one file a step, applied in order when a shelf is opened."""
