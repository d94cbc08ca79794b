"""What the commands and the page do with a job: survey, plan, pack, house, day, many."""
