"""The commands put together."""

from __future__ import annotations

from collections.abc import Sequence
from importlib import import_module
from typing import Annotated

import typer

from seamtree import __version__

EXAMPLES = {
    "check": "`seamtree check samples/lighthouse.svg` draws the lighthouse block with its patch numbers and lists "
    "what to sew, line by line.",
    "mend": "`seamtree mend samples/lighthouse.svg -o mended.svg` lists the seams to carry on, if any are needed, "
    "and draws them in.",
    "recheck": "`seamtree recheck buoy.json samples/buoy.svg` checks the proof that `seamtree check samples/buoy.svg "
    "--proof buoy.json` has written.",
    "proofread": "`seamtree proofread samples/mussel.svg` proves the numbers that are printed on the mussel block.",
    "rate": "`seamtree rate samples/dinghy.svg --width 8` says how hard the dinghy block is to sew eight inches "
    "wide, and why.",
    "picture": "`seamtree picture samples/lighthouse.svg -o lighthouse.png` draws the lighthouse block with its "
    "units, numbers and joins.",
    "pack": "`seamtree pack samples/dinghy.svg -o dinghy.pdf` prints the dinghy block as a pattern that can be "
    "followed without the drawing.",
    "follow": "`seamtree follow samples/gull.svg -o gull.html` writes a page that leads through the sewing of the "
    "gull block, piece by piece.",
    "audit": "`seamtree audit samples` checks all samples; the second time it does only those that have changed.",
}
"""The commands in the order of the work, each with an example for its help. Each is a function of the same name in a
module of the same name."""


def build_app(arguments: Sequence[str] = ()) -> typer.Typer:
    """Put the commands together.

    Parameters
    ----------
    arguments
        Of the command line. Where they begin with the name of a command, only that one is loaded: loading them all
        takes longer than a small drawing takes to answer.
    """
    app = typer.Typer(
        add_completion=False,
        no_args_is_help=True,
        pretty_exceptions_enable=False,
        rich_markup_mode="markdown",
        context_settings={"help_option_names": ["-h", "--help"]},
    )
    app.callback()(_seamtree)
    named = arguments[0] if arguments else ""
    for name in [named] if named in EXAMPLES else EXAMPLES:
        body = getattr(import_module(f"seamtree_cli.{name}"), name)
        app.command(epilog=f"Example: {EXAMPLES[name]}")(body)
    return app


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"seamtree {__version__}")
        raise typer.Exit


def _seamtree(
    version: Annotated[
        bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version and stop.")
    ] = False,
) -> None:
    """Find out whether a patchwork drawing can be sewn on paper foundations, on how few, and in which order."""
