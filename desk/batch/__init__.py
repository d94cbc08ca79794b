"""Many jobs at once: on this machine or on a cluster, each under its own limits, gone on with after a stop."""
