"""What is wrong with a job, before anything is solved."""
