"""The command `seamtree`."""
