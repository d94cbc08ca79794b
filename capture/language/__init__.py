"""The reader's language: how a sentence becomes one of it; the catalogues; the words of the trade."""
