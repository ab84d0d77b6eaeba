"""The smallest terminal on which the screens can be read."""

LEAST_WIDTH, LEAST_HEIGHT = 60, 20
