"""Frozen records and the payloads of journal entries, one module a subject."""
