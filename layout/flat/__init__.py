"""A flat: floors planned one after another with one stock of boards; what one leaves is on hand in the next."""
