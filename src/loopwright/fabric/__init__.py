"""Knitted fabric from structure, yarn and loop length: dimensions, mass, bulk, relaxation, torque, curl, stretch."""
