"""Printed pages and files, drawn from the records they are handed."""
