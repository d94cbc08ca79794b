"""The picture of a row: its strip, and each saw step with its figures. One description for paper, phone and page."""
