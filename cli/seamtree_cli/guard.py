"""What holds for every command: however it ends, it ends with an exit status and at most one line."""

from __future__ import annotations

import functools
import os
import traceback
from collections.abc import Callable
from typing import NoReturn, ParamSpec

import typer

from seamtree.errors import SeamtreeError, describe_unexpected, is_out_of_memory
from seamtree_cli import interrupts
from seamtree_cli.deadline import OutOfTimeError
from seamtree_cli.exits import BROKEN_PIPE, INTERRUPTED, WRONG
from seamtree_cli.remedies import told
from seamtree_cli.streams import close_quietly, fill_closed, forgive_unprintable, say, writing

DEBUG = "SEAMTREE_DEBUG"
"""Name of the environment variable that makes an internal error show where it arose."""

OUT_OF_MEMORY = (
    "this needs more memory than there is, so nothing is said about it; split the drawing, or close other programs"
)

P = ParamSpec("P")


def command(body: Callable[P, int]) -> Callable[P, NoReturn]:
    """Make a command of a function that returns its exit status.

    Every exception becomes one line on standard error and an exit status; there is never a traceback unless the
    environment variable SEAMTREE_DEBUG asks for one.
    """

    @functools.wraps(body)
    def run(*args: P.args, **kwargs: P.kwargs) -> NoReturn:
        fill_closed()
        forgive_unprintable()
        try:
            status = body(*args, **kwargs)
            with writing():
                pass
        except (typer.Exit, typer.Abort, typer.BadParameter):
            raise
        except KeyboardInterrupt:
            status = INTERRUPTED
        except OutOfTimeError as error:
            say("seamtree", str(error))
            status = WRONG
        except BrokenPipeError:
            close_quietly()
            status = BROKEN_PIPE
        except Exception as error:
            if not interrupts.seen():
                say("seamtree", told(error) if isinstance(error, SeamtreeError) else internal_error(error))
            status = WRONG
        if interrupts.seen():
            status = INTERRUPTED
        raise typer.Exit(status)

    return run


def internal_error(error: BaseException) -> str:
    """Describe an error that nobody expected, in one line; with SEAMTREE_DEBUG set also where it arose.

    That there is no memory left is no fault of the program, wherever it shows.

    Raises
    ------
    KeyboardInterrupt
        If Ctrl-C was pressed: libraries, imports above all, may take that for a fault of their own.
    """
    if interrupts.seen():
        raise KeyboardInterrupt from error
    if os.environ.get(DEBUG):
        traceback.print_exception(error)
    return OUT_OF_MEMORY if is_out_of_memory(error) else describe_unexpected(error)
