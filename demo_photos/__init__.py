"""The demo job: an invented room, its rendered photos and the truth they were rendered from."""
