"""The day: what happened while laying, what it says of the room, and the plan for the rows still to come."""
