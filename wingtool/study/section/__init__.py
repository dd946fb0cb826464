"""One section: sweep, inspection, nearest known sections, and many rows at once."""
