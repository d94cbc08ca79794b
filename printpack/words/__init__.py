"""A plan's facts in the homeowner's words, with what to expect of each length."""
