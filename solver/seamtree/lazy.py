"""Names of a package that are imported only when somebody asks for them."""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping
from importlib import import_module
from sys import modules
from typing import Any


def lazy_names(package: str, homes: Mapping[str, str], *, rooms: Collection[str] = ()) -> Callable[[str], Any]:
    """Return a `__getattr__` for a package (PEP 562).

    Parameters
    ----------
    package
        Name of the package.
    homes
        For each name the module that defines it, or ``module:name`` where it is called otherwise there.
    rooms
        Modules and packages in the package that are found as attributes without an import of their own.
    """

    def find(name: str) -> Any:
        if name in rooms:
            return import_module(f"{package}.{name}")
        if name not in homes:
            raise AttributeError(f"module {package!r} has no attribute {name!r}")
        home, _, original = homes[name].partition(":")
        value = getattr(import_module(home), original or name)
        setattr(modules[package], name, value)
        return value

    return find
