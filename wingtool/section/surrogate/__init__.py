"""The learned surrogate: the polar of one section, many shapes at one go."""
