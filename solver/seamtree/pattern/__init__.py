"""From a plan to paper: foundations, cutting list, fabric amounts, directions, and the sheets they are printed on.

*Foundation*: the paper that a unit is sewn on; it is printed mirrored, for the cloth lies on its other side. *Trim
line*: where paper and cloth are cut off after sewing, one allowance outside the unit. *Allowance*: the cloth beyond a
seam line. *Tick*: a mark across the allowance where seams from both sides of a join must meet.
"""
