"""Swatches: what was knitted and measured, what a photo of it says, and what is learnt from it."""
