"""Likely mishaps as hypotheses: each is a change of what was told, tested by the adjustment of the changed readings."""
