"""Finished values as something to read: the sheet in plain blocks, then terminal text, one HTML page, JSON."""
