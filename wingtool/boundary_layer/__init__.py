"""Two-equation boundary layer on arrays of arc length and edge speed."""
