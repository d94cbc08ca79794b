"""What there is to say of a plan, as values: lengths in mm, names, no words. `layout.words` words them."""
