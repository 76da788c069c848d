"""The commands put together."""

from __future__ import annotations

from typing import Annotated

import typer

from seamtree import __version__
from seamtree_cli.audit import audit
from seamtree_cli.check import check
from seamtree_cli.mend import mend
from seamtree_cli.pack import pack
from seamtree_cli.picture import picture
from seamtree_cli.proofread import proofread
from seamtree_cli.rate import rate

app = typer.Typer(
    add_completion=False,
    no_args_is_help=True,
    pretty_exceptions_enable=False,
    rich_markup_mode="markdown",
    context_settings={"help_option_names": ["-h", "--help"]},
)


def _show_version(wanted: bool) -> None:
    if wanted:
        typer.echo(f"seamtree {__version__}")
        raise typer.Exit


@app.callback()
def seamtree(
    version: Annotated[
        bool, typer.Option("--version", callback=_show_version, is_eager=True, help="Show the version and stop.")
    ] = False,
) -> None:
    """Find out whether a patchwork drawing can be sewn on paper foundations, on how few, and in which order."""


app.command(
    epilog="Example: `seamtree check samples/lighthouse.svg` draws the lighthouse block with its patch "
    "numbers and lists what to sew, line by line."
)(check)
app.command(
    epilog="Example: `seamtree mend samples/lighthouse.svg -o mended.svg` lists the seams to carry on, if any are "
    "needed, and draws them in."
)(mend)
app.command(
    epilog="Example: `seamtree proofread samples/mussel.svg` proves the numbers that are printed on the mussel block."
)(proofread)
app.command(
    epilog="Example: `seamtree rate samples/dinghy.svg --width 8` says how hard the dinghy block is to sew "
    "eight inches wide, and why."
)(rate)
app.command(
    epilog="Example: `seamtree picture samples/lighthouse.svg -o lighthouse.png` draws the lighthouse block with its "
    "units, numbers and joins."
)(picture)
app.command(
    epilog="Example: `seamtree pack samples/dinghy.svg -o dinghy.pdf` prints the dinghy block as a pattern that "
    "can be followed without the drawing."
)(pack)
app.command(
    epilog="Example: `seamtree audit samples` checks all samples; the second time it does only those that "
    "have changed."
)(audit)
