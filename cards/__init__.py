"""What is true of wines, and which questions follow. Pure: no clock, no writes, no chance."""
