"""What a photo shows: parts of the room told apart by a small network, floor lines and corners proposed from it."""
