"""Loop mechanics: one repeat of real yarn loops, relaxed to equilibrium; dimensions, curl, lean and stretch follow."""
