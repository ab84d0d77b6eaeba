"""The screens: one a file; they show what the use cases return and pass on what the taster does."""
