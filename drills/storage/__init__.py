"""The database: its tables, how it is opened and upgraded, and the questions asked of it."""

import os

# Before its first model pydantic looks for plugins among all that is installed: 5 ms of every
# start, and rows are never validated by it.
os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
