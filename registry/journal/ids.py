"""Ids of subjects and facts: UUID version 7 (RFC 9562), 32 hex digits in small letters."""

import re
from collections.abc import Callable
from threading import Lock


def new_id(now_us: int, random: Callable[[int], bytes]) -> str:
    """A UUIDv7 of the instant `now_us` (microseconds since 1970, UTC), filled up by `random(8)`.

    The 12 bits after the milliseconds hold the microseconds as a fraction (RFC 9562 section 6.2, method 3),
    so that ids of one computer sort by time to the microsecond.

    >>> new_id(1_645_557_742_000_456, lambda count: bytes(count))
    '017f22e279b0774b8000000000000000'
    """
    milliseconds, rest = divmod(now_us, 1000)
    if not 0 <= milliseconds < 1 << 48:
        raise ValueError("a UUIDv7 holds instants from 1970 to 10889")
    filling = int.from_bytes(random(8), "big") & (1 << 62) - 1
    value = milliseconds << 80 | 7 << 76 | rest * 4096 // 1000 << 64 | 2 << 62 | filling
    return f"{value:032x}"


class IdSource:
    """Ids that always grow within one process, also when the clock stands still or is set back."""

    def __init__(self, clock: Callable[[], int], random: Callable[[int], bytes]) -> None:
        """`clock` gives microseconds since 1970, UTC; `random(n)` gives n bytes that nobody can foresee."""
        self._clock = clock
        self._random = random
        self._last = -1
        self._lock = Lock()

    def new(self) -> str:
        """The next id; a microsecond already used is replaced by the next free one."""
        with self._lock:
            self._last = max(self._clock(), self._last + 1)
            return new_id(self._last, self._random)


def is_id(text: str) -> bool:
    """Whether `text` is a UUIDv7 written as ids are kept here."""
    return re.fullmatch("[0-9a-f]{12}7[0-9a-f]{3}[89ab][0-9a-f]{15}", text) is not None
