"""What the parts do to the car: balance, straights, corners, loads."""
