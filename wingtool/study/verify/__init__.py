"""A track log against the estimate, and the corrected study."""
