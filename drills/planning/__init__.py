"""The best use of the next minutes, worked out over all contrasts at once. Pure; needs numpy."""
