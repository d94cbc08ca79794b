"""Languages as files: which there are, how one is read, which sentences it lacks."""
