"""The booklet's pages, on paper and for the phone."""
