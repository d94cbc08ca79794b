"""Fewer cuts and better joints at the same boards: late acceptance local search."""
