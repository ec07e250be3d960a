"""The steps. Each says which one it follows."""
