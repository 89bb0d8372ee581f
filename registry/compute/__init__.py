"""Pure functions of numbers; they are handed their tables and know no database, clock, file or window."""
