"""The commands, called as a person calls them, in one process."""
