"""How to lay: one small drawing a step, described first and drawn after."""
