"""The finite wing of a study: roof, positions, tabs."""
