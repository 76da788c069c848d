"""What is wrong with drawings and options, told on standard error."""

from __future__ import annotations

from seamtree_cli.streams import say
from seamtree_cli.work import Outcome


class Complaints:
    """Tells on standard error what is wrong: each fault of a drawing, and each misuse of an option once."""

    def __init__(self) -> None:
        self._told: set[str] = set()

    def __call__(self, outcome: Outcome) -> None:
        """Tell what is wrong with one drawing, if anything."""
        for fault in outcome.faults:
            say(outcome.source, fault)
        if outcome.misuse is not None and outcome.misuse not in self._told:
            self._told.add(outcome.misuse)
            say("seamtree", outcome.misuse)
