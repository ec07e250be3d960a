"""Drawings: one SVG per picture, the same on the page and on paper."""
