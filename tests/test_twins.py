"""Every module has a twin: a test of its name, or the one that `twins.txt` names for it."""

from __future__ import annotations

from pathlib import Path

import seamtree
import seamtree_cli

TESTS = Path(__file__).parent
NAMED = dict(line.split() for line in (TESTS / "twins.txt").read_text(encoding="utf-8").splitlines())


def modules():
    """Yield every module with code of its own by its path, those of the commands below ``cli``."""
    for package, room in ((seamtree, ""), (seamtree_cli, "cli/")):
        home = Path(package.__file__).parent
        for path in home.rglob("*.py"):
            if path.stem != "__init__":
                yield room + path.relative_to(home).with_suffix("").as_posix()


def own_twin(module):
    path = Path(module)
    return TESTS / path.parent / f"test_{path.stem}.py"


def test_every_module_has_a_twin():
    assert sorted(name for name in modules() if not own_twin(name).exists() and name not in NAMED) == []


def test_the_list_names_modules_without_a_twin_of_their_own_and_tests_that_there_are():
    assert sorted(NAMED) == list(NAMED)
    assert [name for name in NAMED if name not in set(modules())] == []
    assert [name for name in NAMED if own_twin(name).exists()] == []
    assert [twin for twin in NAMED.values() if not (TESTS / twin).is_file()] == []


def test_slow_tests_are_named_as_they_are():
    named = (TESTS / "slow.txt").read_text(encoding="utf-8").split()
    for name in named:
        path, _, test = name.partition("::")
        assert f"def {test}(" in (TESTS.parent / path).read_text(encoding="utf-8"), name
    assert named == sorted(named)
