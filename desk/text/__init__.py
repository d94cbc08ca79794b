"""Results in words, for the terminal and for the page."""
