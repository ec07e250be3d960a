"""Compiled kernels of the loop mechanics: numba infers their types, docstrings give meaning, shapes and units."""
