"""The shelf: styles, yarns, machines, structures, rate cards, size tables and swatches that a studio keeps."""
