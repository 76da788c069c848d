"""Exit statuses."""

STRAIGHT = 0
"""Straight seams sew everything."""

HARD_CORNERS = 1
"""At least one hard corner."""

REFUTED = 1
"""Something about the printed numbers is refuted."""

BROKEN_RULE = 1
"""A drawing breaks a rule that was given."""

WRONG = 2
"""A drawing or the command is wrong."""

INTERRUPTED = 130
"""Ended by Ctrl-C; as in shells, 128 and the number of the signal."""

BROKEN_PIPE = 141
"""Whoever read the output has gone; as in shells, 128 and the number of the signal."""
