"""The database: its tables, how it is opened and upgraded, and the questions asked of it."""
