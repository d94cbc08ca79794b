"""What every search works on: runs and seams, first pieces, arcs on the circle of a board, which pieces share a
board."""
