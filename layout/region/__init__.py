"""The floor to be laid: the room less its gaps, cut into strips, rows and runs. Plan frame and row frame, mm."""
