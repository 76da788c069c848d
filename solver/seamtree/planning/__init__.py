"""The answer, its numbering, and its independent replay.

The package is not called `plan`, because `seamtree.plan` is the public function.
"""
