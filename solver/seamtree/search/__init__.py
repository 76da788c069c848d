"""The search for the best sewing order."""
