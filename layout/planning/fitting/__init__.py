"""Pieces fitted to the walls within the edge window: ends settled, outlines a saw can make."""
