"""Many styles at once: what a season costs, knits and buys."""
