"""Start values: rough floors and camera poses from which the adjustment begins."""
