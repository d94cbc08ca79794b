"""The booklet of a flat: what holds for all rooms told once, then a part for each floor that is laid as one."""
