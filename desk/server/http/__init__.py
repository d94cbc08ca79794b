"""Requests judged by their heads, and the connections they come over."""
