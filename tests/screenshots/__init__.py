"""Pictures of every place and state of the window: `python -m tests.screenshots OUT [--only NAME]`."""
