"""Names of a package that are imported only when somebody asks for them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from importlib import import_module
from sys import modules
from typing import Any


def lazy_names(package: str, homes: Mapping[str, str]) -> Callable[[str], Any]:
    """Return a `__getattr__` for a package (PEP 562).

    Parameters
    ----------
    package
        Name of the package.
    homes
        For each name the module that defines it.
    """

    def find(name: str) -> Any:
        if name not in homes:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        value = getattr(import_module(homes[name]), name)
        setattr(modules[package], name, value)
        return value

    return find
