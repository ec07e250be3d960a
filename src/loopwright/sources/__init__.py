"""Where numbers come from: the bibliography, packaged tables with provenance, and the vocabulary."""
