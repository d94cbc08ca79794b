"""What is handed out: the pack and its files, revisions, DXF and CSV."""
