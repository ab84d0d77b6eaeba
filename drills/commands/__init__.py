"""The commands, a file for what belongs together; heavy imports wait for the command."""
