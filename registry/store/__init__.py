"""Tables, sessions and projections; nothing above it sees a table."""
