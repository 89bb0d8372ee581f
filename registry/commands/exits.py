"""Exit codes that scripts can trust."""

DONE = 0
REFUSED = 1  # nothing was recorded; why stands on stderr
USAGE = 2
TROUBLE = 3  # disk full, locked, read-only, newer file, missing
FOUND = 4  # verify or recompute found something
ATTENTION = 5  # done and recorded, and something wants attention
OUR_MISTAKE = 70

CODES = (DONE, REFUSED, USAGE, TROUBLE, FOUND, ATTENTION, OUR_MISTAKE)
