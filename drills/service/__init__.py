"""The use cases that screens and commands call; all of them return frozen dataclasses."""
