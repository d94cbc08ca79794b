"""A flat of several rooms: its rooms gathered and put together, and planned with one stock of boards."""
