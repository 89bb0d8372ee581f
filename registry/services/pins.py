"""PINs: who is named, checked on this computer only. A PIN decides who is named, it does not encrypt."""

from registry.services.problems import refuse
from registry.services.session import Actor
from registry.store.local import Local

FEWEST_DIGITS, MOST_DIGITS = 4, 12
MOST_TRIES = 10


def set_pin(local: Local, actor: Actor, person: str, pin: str) -> None:
    """Set a person's PIN: 4 to 12 digits, kept as an argon2 verifier (RFC 9106) in the local file.

    One sets one's own; an administrator sets anybody's.
    """
    if actor.person != person and not actor.may("administrator"):
        raise refuse("actor", "not_allowed", roles="administrator")
    if not (pin.isascii() and pin.isdigit() and FEWEST_DIGITS <= len(pin) <= MOST_DIGITS):
        raise refuse("pin", "digits", fewest=FEWEST_DIGITS, most=MOST_DIGITS)
    if len(set(pin)) == 1:
        raise refuse("pin", "too_simple")
    from argon2 import PasswordHasher  # late: most starts ask for no PIN

    local.set_pin(person, PasswordHasher().hash(pin))


def has_pin(local: Local, person: str) -> bool:
    return local.pin(person) is not None


def check_pin(local: Local, person: str, pin: str) -> None:
    """Refused for a wrong PIN, and after ten wrong ones until an administrator sets a new one."""
    kept = local.pin(person)
    if kept is None:
        return
    from argon2 import PasswordHasher
    from argon2.exceptions import InvalidHashError, VerificationError

    if local.count_try(person) > MOST_TRIES:
        raise refuse("pin", "too_many_tries")
    try:
        PasswordHasher().verify(kept.verifier, pin)
    except (VerificationError, InvalidHashError):
        raise refuse("pin", "wrong") from None
    local.clear_tries(person)
