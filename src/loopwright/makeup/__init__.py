"""Make-up: seams and linking, hand work and finishing in minutes, and the final inspection by attributes."""
