"""Names that are imported when somebody asks for them."""

from __future__ import annotations

import sys
from types import ModuleType

import pytest

from seamtree.lazy import lazy_names


@pytest.fixture
def harbour(monkeypatch):
    module = ModuleType("harbour")
    module.__getattr__ = lazy_names("harbour", {"sqrt": "math", "root": "math:sqrt", "tide": "math"}, rooms=("pier",))
    monkeypatch.setitem(sys.modules, "harbour", module)
    return module


def test_a_name_is_looked_up_once_and_stays(harbour):
    assert "sqrt" not in vars(harbour)
    assert harbour.sqrt(9) == 3
    assert vars(harbour)["sqrt"] is harbour.sqrt


def test_a_name_may_be_another_one_at_home(harbour):
    assert harbour.root is harbour.sqrt
    assert set(vars(harbour)) >= {"root", "sqrt"}


def test_modules_are_found_without_an_import(harbour, monkeypatch):
    pier = ModuleType("harbour.pier")
    monkeypatch.setitem(sys.modules, "harbour.pier", pier)
    assert harbour.pier is pier


def test_unknown_names_are_attribute_errors(harbour):
    with pytest.raises(AttributeError, match="module 'harbour' has no attribute 'quay'"):
        harbour.quay  # noqa: B018
    with pytest.raises(AttributeError, match="tide"):
        harbour.tide  # noqa: B018
