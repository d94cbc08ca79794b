"""What stays as it is printed when a plan follows: first pieces, boards shared, pieces."""
