"""The factory pack: what a knitter needs to knit a style right first time, as pages, workbook, drawing and data."""
