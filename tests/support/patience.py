"""How long a test waits for what must come: a wait ends with its event, and this only ends one whose event never comes.

No measure of the program, and longer than any machine with other work to do needs.
"""
PATIENCE_S = 300
