"""Printing tags: which ones, on what, how they will look; to a file or a printer."""
