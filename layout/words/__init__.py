"""A plan's facts as sentences, in the unit asked for: the only place of this room where they are worded."""
