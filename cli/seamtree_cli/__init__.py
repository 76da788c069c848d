"""The command `seamtree`: small files, one for each command, around the library `seamtree`.

`main` starts the program, `app` puts the commands together. A command reads its options, has the work done
(`work`), and prints what the pure functions of `sewing_tree` and `picture` make of a plan.
"""
