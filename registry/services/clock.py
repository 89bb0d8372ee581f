"""The computer's clock; the only place that reads it. Everything else is handed a clock."""

import time


def now_us() -> int:
    """Microseconds since 1970, UTC."""
    return time.time_ns() // 1000
