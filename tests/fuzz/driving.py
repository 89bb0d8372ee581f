"""Running cases one after the other, each from its own number, so that one that fails can be run again."""

import argparse
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from itertools import count
from random import Random
from time import perf_counter

from registry import resources
from registry.services.problems import Refused
from registry.wording import say
from registry.wording.refusals import problem

Case = Callable[[Random], str]


def run(case: Case, seed: int, seconds: float, least: int = 1) -> Counter[str]:
    """Cases for so long, and at least so many; says what became of them. One that fails names its number."""
    met: Counter[str] = Counter()
    ends = perf_counter() + seconds
    for number in count():
        try:
            met[case(Random(f"{seed}/{number}"))] += 1
        except BaseException as error:
            error.add_note(f"case {number} of seed {seed}")
            raise
        if number >= least and perf_counter() > ends:
            return met
    raise AssertionError("counting never ends")


@contextmanager
def may_be_refused() -> Iterator[None]:
    """A refusal is as good as being taken, if there is a sentence for it in each language."""
    try:
        yield
    except Refused as refused:
        word(refused)


def word(refused: Refused) -> None:
    for one in refused.problems:
        for language in resources.languages():
            sentence = problem(one.field, one.code, one.values, language)
            if sentence == say("problem.no_sentence", language, field=one.field, code=one.code):
                raise AssertionError(f"{one.field}: {one.code} has no sentence") from refused


def by_hand(case: Case, what: str) -> None:
    """`python -m tests.fuzz.<module> --minutes 10 [--seed 7]`, or `--case 123` for one case again."""
    parser = argparse.ArgumentParser(description=what)
    parser.add_argument("--minutes", type=float, default=1)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--case", type=int)
    asked = parser.parse_args()
    if asked.case is not None:
        print(case(Random(f"{asked.seed}/{asked.case}")))
        return
    met = run(case, asked.seed, asked.minutes * 60)
    print(f"{met.total()} cases of seed {asked.seed}")
    for name, times in met.most_common():
        print(f"{times:9} {name}")
