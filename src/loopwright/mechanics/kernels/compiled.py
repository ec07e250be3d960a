"""How kernels are compiled: serial, without the interpreter lock, kept on disk.

The machine code is kept in the person's cache folder under a digest of all kernel sources: numba alone would look only
at the file of the outermost kernel and run stale code when an inner one has changed. Where nothing can be written,
kernels are compiled in every process (about half a minute). The numpy twin (`twin`) is their oracle.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from importlib import resources
from typing import Any, TypeVar, cast

import numba
import platformdirs

Kernel = TypeVar("Kernel", bound=Callable[..., Any])


def _digest() -> str:
    """Short digest of every kernel's source."""
    files = [each for each in resources.files(__package__).iterdir() if each.name.endswith(".py")]
    sources = b"".join(each.read_bytes() for each in sorted(files, key=lambda each: each.name))
    return hashlib.sha256(sources).hexdigest()[:12]


_settings: Any = numba.config
_settings.CACHE_DIR = str(platformdirs.user_cache_path("loopwright") / f"kernels-{_digest()}")


def compiled(function: Kernel) -> Kernel:
    """The kernel as machine code. Never `fastmath`: sums must come out alike wherever they run."""
    try:
        kept = numba.njit(cache=True, nogil=True, error_model="numpy")(function)
    except RuntimeError:  # no folder can be written
        kept = numba.njit(nogil=True, error_model="numpy")(function)
    return cast("Kernel", kept)
