"""Sentences by code with named values; numbers and dates by region.

A sentence is whole: values go into its named places, and no sentence is put together from others. Values
come ready for print from `registry.wording.format`, since a number follows the region, not the language.
"""

from registry import resources


def say(code: str, language: str, /, **values: object) -> str:
    """The sentence of a code in a language, with its named values.

    Where a sentence has forms by number, `count` (an int) chooses by the language's plural rule. An unknown
    code or language, and a value that the sentence names but was not given, are a KeyError.

    >>> say("due.hot_point_never", "en", count=90)
    'Hot point every 90 days (none yet)'
    >>> say("due.hot_point_never", "es", count=1)
    'Punto caliente cada día (aún ninguno)'
    """
    sentences = resources.sentences(language, code.partition(".")[0])
    if code not in sentences and f"{code}.other" in sentences:
        chosen = f"{code}.{_plural_form(language, values['count'])}"
        code = chosen if chosen in sentences else f"{code}.other"
    # A time may end in its own full stop, "9:20 p.m.", before that of the sentence.
    return sentences[code].format(**values).replace("m..", "m.")


def _plural_form(language: str, count: object) -> str:
    from babel import Locale  # late: 24 ms that the first window does not need

    if not isinstance(count, int):
        raise TypeError(f"count must be a whole number, not {count!r}")
    return Locale.parse(language).plural_form(count)
