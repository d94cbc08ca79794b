"""The page's home: a flat of several rooms, each of which opens into the steps of its job."""
