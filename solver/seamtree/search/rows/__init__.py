"""Large straight blocks by rows: linear programming over what can be added, with sums of rows as proof."""
