"""Trust, verification and comparison, and the sheets for measuring."""
