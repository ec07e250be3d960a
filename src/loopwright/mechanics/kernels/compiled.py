"""How kernels are compiled: serial, without the interpreter lock, kept on disk; the numpy twin (`twin`) is the
oracle.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, TypeVar, cast

import numba

Kernel = TypeVar("Kernel", bound=Callable[..., Any])


def compiled(function: Kernel) -> Kernel:
    """The kernel as machine code. Never `fastmath`: sums must come out alike wherever they run."""
    return cast("Kernel", numba.njit(cache=True, nogil=True, error_model="numpy")(function))


def compiled_inline(function: Kernel) -> Kernel:
    """A small kernel that is woven into its callers."""
    return cast("Kernel", numba.njit(cache=True, nogil=True, error_model="numpy", inline="always")(function))
