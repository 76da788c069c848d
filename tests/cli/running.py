"""The command line called in this process."""

from __future__ import annotations

from typer.testing import CliRunner, Result

from seamtree_cli.app import build_app


def run(*arguments, **more) -> Result:
    """Run `seamtree` with these arguments."""
    return CliRunner().invoke(build_app(), list(map(str, arguments)), prog_name="seamtree", **more)
