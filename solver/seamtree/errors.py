"""What can be wrong with a drawing, and how it is told.

A `Finding` is one observation about a drawing with a stable code, a sentence in plain words and the place in
inches. Readers and the planar map collect findings; the ones that make a drawing unusable are raised together
in one `DrawingError`, the others travel with the block as warnings.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from seamtree.remedies import Remedy

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Finding:
    """One observation about a drawing.

    Parameters
    ----------
    code
        Stable, lower-case, hyphenated word for programs, for example ``gap``.
    message
        One or two sentences in plain words: what is wrong, where (inches), what to do.
    at
        Place in inches, x to the right and y down, from the top left corner of the bounding box of the block
        (of the whole drawing as long as there is no block); None where there is no single place.
    patches
        Ids of the patches concerned, if they have any yet.
    remedies
        What would help; each stands in the message in the words of the library.
    text
        The text of the drawing that it is about, if it is about one.
    """

    code: str
    message: str
    at: Point | None = None
    patches: tuple[str, ...] = ()
    remedies: tuple[Remedy, ...] = ()
    text: str = ""

    def __repr__(self) -> str:
        place = "" if self.at is None else f" at {self.at[0]:.2f}, {self.at[1]:.2f}"
        message = self.message if len(self.message) <= 180 else f"{self.message[:180]}…"
        return f"<Finding {self.code}{place}: {message}>"

    def beside(self, source: str) -> str:
        """Return the message for where the name of the drawing stands beside it already."""
        rest = self.message.removeprefix(f"{source} ")
        return self.message if rest == self.message else f"The drawing {rest}"

    def to_json(self) -> dict[str, Any]:
        """Return the finding as plain data; places to a millionth of an inch."""
        at = None if self.at is None else [round(v, 6) for v in self.at]
        remedies = {"remedies": [remedy.code for remedy in self.remedies]} if self.remedies else {}
        return {"code": self.code, "message": self.message, "at": at, "patches": list(self.patches), **remedies}


_OUT_OF_MEMORY = (
    "bad_alloc",
    "could not allocate",
    "failed to map segment",
    "Cannot allocate memory",
    "can't start new thread",
)
"""How libraries in C++, the loader of libraries, the system and Python say that there is no memory left."""


def is_out_of_memory(error: BaseException) -> bool:
    """Tell whether an error says that there is no memory left."""
    return isinstance(error, MemoryError) or any(words in str(error) for words in _OUT_OF_MEMORY)


def describe_unexpected(error: BaseException) -> str:
    """Tell in one line of an error that nobody expected."""
    said = " ".join(str(error).split())
    name = type(error).__name__ + (f": {said}" if said else "")
    return f"internal error ({name}); this is a fault of seamtree, not of the drawing: please report it"


def check_time_limit(time_limit: float) -> None:
    """Refuse a time limit that makes no sense.

    Raises
    ------
    OptionError
        If it is no number of seconds above 0.
    """
    if not 0 < time_limit < float("inf"):
        raise OptionError(f"the time limit must be a number of seconds above 0, not {time_limit:g}")


class SeamtreeError(Exception):
    """Root of all errors that this package raises on purpose."""


class DrawingError(SeamtreeError, ValueError):
    """The drawing cannot be used as it is; `findings` names every place that is wrong."""

    def __init__(self, findings: tuple[Finding, ...] | list[Finding] | Finding, *, source: str = "") -> None:
        self.findings = (findings,) if isinstance(findings, Finding) else tuple(findings)
        self.source = source
        super().__init__("\n".join(finding.message for finding in self.findings))

    def __reduce__(self) -> tuple[Any, ...]:  # so that it can be sent from another process
        return type(self), (self.findings,), vars(self)


class LimitError(DrawingError):
    """The input is larger than what is read; the message names the limit."""


class OptionError(SeamtreeError, ValueError):
    """An option or argument has a value that makes no sense.

    `argument` is its name, where a function was called, and `remedies` are what would help, as in a `Finding`.
    """

    def __init__(self, message: str, *, argument: str = "", remedies: tuple[Remedy, ...] = ()) -> None:
        self.argument = argument
        self.remedies = remedies
        super().__init__(message)


class ArgumentTypeError(OptionError, TypeError):
    """An argument has a type that the function does not take."""


class ReplayError(SeamtreeError, AssertionError):
    """A plan does not describe a real sewing order of its block."""


class ProofError(SeamtreeError, AssertionError):
    """A proof that a plan is the best has a gap, which would be a fault of this program."""


class ProofFileError(SeamtreeError, ValueError):
    """A file with proofs cannot be used: it is no such file, or has in it what is no part of a proof."""
