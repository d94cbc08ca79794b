"""A plan as JSON data and back: what it holds, written exactly, read strictly."""
