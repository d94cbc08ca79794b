"""What there is to say of a finished plan, found as facts."""
