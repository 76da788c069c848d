"""Named tolerances, in inches at finished size unless a name says otherwise."""

from __future__ import annotations

TOLERANCE = 0.02
"""Default of what cloth cannot tell apart: ends that miss by less are snapped, runs that stray less are in line."""

FLATTEN_SHARE = 0.1
"""Chords of a flattened curve stay within this share of the tolerance."""

GAP_WIDTH = 0.25
"""An unfilled enclosed area that is narrower than this everywhere is a gap between patches, not a patch."""

MAX_TURN_DEGREES = 30.0
"""Two edges that turn by more than this are never in line, however short they are."""

SMOOTH_TURN_DEGREES = 12.0
"""A drawn curve runs on smoothly through a point where it turns by no more than this."""

PX_PER_INCH = 96.0
"""CSS Values and Units: 96 px are one inch."""

OPAQUE = 0.9
"""Least opacity of paint that hides what lies under it; what is less opaque is shading."""

STRIP_WIDTH = 0.125
"""A stroke that is wider than this is a strip of fabric where other fabrics are drawn as well, not a line."""
