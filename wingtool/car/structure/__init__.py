"""What must hold: the wing on its stands, feet and bolts, the blade of a splitter."""
