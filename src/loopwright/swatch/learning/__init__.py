"""Learning: what the swatches of a drawer say about cloth that was not knitted yet."""
