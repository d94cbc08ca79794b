"""A display list in mm on paper, and the writers that turn it into PDF and SVG."""
