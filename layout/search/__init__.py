"""First pieces for every run: a one-dimensional search over rows of boards, fewest boards first."""
