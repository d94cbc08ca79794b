"""Judges a plan from its own numbers and the room. It knows the plan's and the room's types and nothing of how plans
are made."""
