"""The demo group of kitchens: a seeded simulator with its scenario as data."""
