"""The commands with a language of their own."""
