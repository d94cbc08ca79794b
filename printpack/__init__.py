"""From a plan to paper: the booklet, the true-scale templates, drawings and lists.

The room returns bytes and texts; writing them to disk is the desk's work.
"""
