"""Pixels: pictures read, edges, corners and printed targets found in them."""
