"""The parts of screens: one a file."""
