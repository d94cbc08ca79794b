"""True-scale sheets: templates, check sheet, floor targets, and how they are tiled."""
