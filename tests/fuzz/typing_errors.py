"""What fingers, scanners, spreadsheets and other languages' keyboards put where a number, a day or a tag id belongs."""

from random import Random

SPACES = (" ", "  ", "\t", "\n", "\N{NO-BREAK SPACE}", "\N{THIN SPACE}", "\N{ZERO WIDTH SPACE}", "\ufeff")
MINUS = ("-", "-", "\N{MINUS SIGN}", "\N{EN DASH}", "+", "--", "\N{FULLWIDTH HYPHEN-MINUS}")
MARKS = (".", ",", ".", ",", "'", "\N{ARABIC DECIMAL SEPARATOR}", "..", " ", "·", "\N{FULLWIDTH FULL STOP}")
DIGITS = "0123456789"
OTHER_DIGITS = "٠١٢٣٤٥٦٧٨٩０１２３४५६²½①Ⅷ"
WORDS = (
    "NaN",
    "inf",
    "-Infinity",
    "1e5",
    "1E-3",
    "0x1F",
    "1_000",
    "null",
    "True",
    "O.5",
    "l2",
    "=1+1",
    "'0.4",
    "#REF!",
)
ODD = (
    "\0",
    "\x1b[2J",
    "\ud800",
    "\N{RIGHT-TO-LEFT OVERRIDE}",
    "😀",
    "e\N{COMBINING ACUTE ACCENT}",
    "ß",
    "İ",
    "％",
    "°",
)


def whole(random: Random) -> str:
    return "".join(random.choice(DIGITS) for _ in range(random.choice((1, 1, 2, 2, 3, 4, 5, 7, 20))))


def number(random: Random) -> str:
    """Mostly a number as people write them."""
    sign = random.choice(MINUS) if random.random() < 0.3 else ""
    rest = random.choice(MARKS) + whole(random) if random.random() < 0.7 else ""
    return sign + whole(random) + rest


def spoilt(random: Random, text: str) -> str:
    """The same with up to three slips."""
    for _ in range(random.choice((0, 0, 1, 1, 2, 3))):
        place = random.randint(0, len(text))
        anything = chr(random.choice((random.randrange(128), random.randrange(0x3000), random.randrange(0x110000))))
        from_lists = [random.choice(some) for some in (SPACES, OTHER_DIGITS, ODD, MARKS, MINUS)]
        slip = random.choice((*from_lists, text[place : place + 3], anything, ""))
        text = text[:place] + slip + text[place + random.choice((0, 0, 1)) :]
    return text


def typed_number(random: Random) -> str:
    """Anything that may be typed where a number is wanted."""
    match random.randrange(12):
        case 0:
            return random.choice(WORDS)
        case 1:
            return "".join(random.choice((*ODD, *SPACES, *DIGITS)) for _ in range(random.randrange(6)))
        case 2:
            return number(random) * random.choice((1, 2, 500))
        case _:
            return spoilt(random, number(random))
