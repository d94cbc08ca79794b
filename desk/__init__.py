"""The command line, the local page and the job folder: everything that touches disk, terminal or socket."""
