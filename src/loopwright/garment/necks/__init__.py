"""Necks, one small file each: a new neck is a new file here that holds a `NECK`; nothing else has to be told.

In: a name. Out: `Neck`. The files are found by themselves, in the order of their names.
"""

from __future__ import annotations

import pkgutil
from collections.abc import Mapping
from functools import cache
from importlib import import_module
from types import MappingProxyType

from loopwright.garment.necks.neck import Neck
from loopwright.garment.shape import one_of


@cache
def necks() -> Mapping[str, Neck]:
    """Every neck by its name."""
    names = sorted(module.name for module in pkgutil.iter_modules(__path__) if module.name != "neck")
    found = [import_module(f"{__name__}.{name}").NECK for name in names]
    return MappingProxyType({neck.name: neck for neck in found})


def neck_called(name: str) -> Neck:
    """A neck by its name.

    Raises:
        Problem: no neck of that name.
    """
    return necks()[one_of(name, necks(), "garment.neck", "neck")]
