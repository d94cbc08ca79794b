"""Fewest boards: constructive search over circular arcs, and the lower bound that proves it."""
