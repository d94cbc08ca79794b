"""How the demo pictures and their truth were made. Run by hand, never by tests; see README.md."""
