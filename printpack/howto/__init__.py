"""The work in drawings: how to lay, doors, what lies under the boards. Described first, drawn after."""
