"""What is bought beside boards: underlay, film, beading, and the bars and rolls they are cut from."""
