"""Yarn: count systems and their notations, folding, fibres and regain, twist, diameter, and the yarn as one value."""
