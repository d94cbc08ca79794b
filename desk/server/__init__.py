"""The local page's server: requests, guards, work in the background."""
