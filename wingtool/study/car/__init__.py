"""The car of a study: balance, straights, corners, lap, structure."""
