"""The window; it sees services, records, wording and charts, never a table or session."""
