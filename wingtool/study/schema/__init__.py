"""What a study file may hold, and how it is read."""
