"""The answer, its numbering, and its independent replay."""
