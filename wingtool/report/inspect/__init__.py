"""A section inspected: picture, template, drawing files."""
