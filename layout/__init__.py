"""From a solved floor to rows, pieces, cuts, offcuts and a shopping list.

The room does no input or output of its own. Its door for `printpack` is `plan`: types only.
"""
