"""Ratios to a limit measured in the same run, kept as JSON beside the commit they were measured at."""
