"""One thread for linear algebra: the solver's matrices are small, and several jobs share the processors."""

from __future__ import annotations

from contextlib import AbstractContextManager
from functools import cache
from typing import Any

import threadpoolctl


def one_thread() -> AbstractContextManager[Any]:
    """Within this context matrices are factored by one thread."""
    limited: AbstractContextManager[Any] = _controller().limit(limits=1)
    return limited


@cache
def _controller() -> Any:
    return threadpoolctl.ThreadpoolController()
