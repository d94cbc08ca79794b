"""From a room and wishes to a whole plan: ways of laying tried, the best assembled and judged."""
