"""Readers: what a file says, as lines, fills, labels and markings in inches."""
