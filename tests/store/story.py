"""Chains that several installations might have written about a few thermometers, good and odd entries alike."""

from dataclasses import dataclass, field
from random import Random
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey

from registry.journal import entry as journal_entry
from registry.journal import signing
from registry.journal.entry import Entry
from registry.records.kinds import KINDS, fact_field, subject_of

START = 1_772_548_200_000_000
PERSON = "0195f3a0c00070008000000000000001"
POINTS = ("ice_point", "boiling_point", "comparison")
OUTCOMES = ("pass", "conditional_pass", "conditional_fail", "fail")


def key(number: int) -> Ed25519PrivateKey:
    return Ed25519PrivateKey.from_private_bytes(bytes([number + 1] * 32))


def id_of(what: str, number: int) -> str:
    """An id that shows in a failing test what it is of."""
    return f"0195f3a0c0007000{what.encode().hex():0>8}{number:08x}"


@dataclass
class Chain:
    """A chain as one installation writes it."""

    number: int
    entries: list[Entry] = field(default_factory=list)

    @property
    def chain(self) -> str:
        return signing.public_bytes(key(self.number)).hex()

    def write(self, kind: str, payload: dict[str, Any], after: Any = (), *, at: int, kv: int = 1) -> Entry:
        last = self.entries[-1] if self.entries else None
        made = journal_entry.make(
            after=sorted(set(after)),
            at=at,
            by=PERSON if last else "system",
            chain=self.chain,
            kind=kind,
            kv=kv,
            payload=payload,
            prev=last.hash.hex() if last else "0" * 64,
            seq=last.seq + 1 if last else 0,
        )
        self.entries.append(made)
        return made

    def sign(self, entry: Entry) -> bytes:
        return self.sign_raw(entry.seq, entry.hash)

    def sign_raw(self, seq: int, hash: bytes) -> bytes:
        return signing.sign_head(key(self.number), bytes.fromhex(self.chain), seq, hash)


class Story:
    """What happened, in the order in which it was recorded anywhere; `random` decides what."""

    def __init__(self, random: Random, steps: int, chains: int = 3, *, odd: bool = True) -> None:
        self.random, self.odd = random, odd
        self.chains = [Chain(number) for number in range(chains)]
        self.told: list[tuple[int, Entry]] = []
        self._now = START
        self._ids = 0
        self._imports: dict[int, str] = {}
        self._checks: list[tuple[str, str, str | None]] = []  # check, thermometer, bath
        for chain in self.chains:
            self._write(chain, "chain_opened", {"name": "Test", "opened_because": "first_start", "program": "0"})
        for _ in range(steps):
            getattr(self, f"_{random.choice(_STEPS if odd else _PLAIN)}")(random.choice(self.chains))
        for chain in self.chains:
            if chain.number in self._imports and random.random() < 0.8:
                self._close_import(chain)

    # --- helpers -------------------------------------------------------------------------------------------------

    def _write(self, chain: Chain, kind: str, payload: dict[str, Any], after: Any = (), kv: int = 1) -> Entry:
        self._now += self.random.choice((0, 1, 1000))  # at one instant too: two clocks may agree
        if kind != "chain_opened":
            if self.random.random() < 0.3:  # day only: many at one instant
                payload = payload | {"performed_at": START + self.random.randrange(3)}
            if chain.number in self._imports and "import" not in payload and self.random.random() < 0.8:
                payload = payload | {"import": self._imports[chain.number]}
        entry = chain.write(kind, payload, after, at=self._now, kv=kv)
        self.told.append((chain.number, entry))
        return entry

    def _id(self, what: str) -> str:
        self._ids += 1
        return id_of(what, self._ids)

    def _thermometer(self) -> str:
        return id_of("t", self.random.randrange(3))

    def _bath(self) -> str:
        return id_of("b", self.random.randrange(3))

    def _others(self, kind: str, payload: dict[str, Any]) -> list[str]:
        """Some of the facts that this one may replace: whoever writes may not have seen all of them."""
        subject, named = subject_of(payload, "0" * 64), fact_field(kind, payload)
        found = [
            entry.hash.hex()
            for _, entry in self.told
            if subject_of(entry.payload, entry.chain) == subject and fact_field(entry.kind, entry.payload) == named
        ]
        return [one for one in found if self.random.random() < 0.7]

    def _fact(self, chain: Chain, kind: str, payload: dict[str, Any]) -> None:
        if self.random.random() < 0.1:
            payload = payload | {"past": True}
        self._write(chain, kind, payload, self._others(kind, payload))

    # --- what may happen -----------------------------------------------------------------------------------------

    def _enrol(self, chain: Chain) -> None:
        scale = {"step": "0.1 dC", "lowest": "-50 C", "highest": "150 C"}
        facts = {"type": "digital_probe", "scales": {"C": scale}, "uses": ["hot"]}
        self._fact(chain, "thermometer_set", {"thermometer": self._thermometer()} | facts)

    def _name(self, chain: Chain) -> None:
        tag_id = self.random.choice(("LM214L", "AB7", "XY1"))
        self._fact(chain, "tag_id_set", {"thermometer": self._thermometer(), "tag_id": tag_id})

    def _move(self, chain: Chain) -> None:
        site = id_of("s", self.random.randrange(2))
        self._fact(chain, "place_set", {"thermometer": self._thermometer(), "site": site})

    def _take_out(self, chain: Chain) -> None:
        if self.random.random() < 0.5:
            self._fact(chain, "taken_out", {"thermometer": self._thermometer(), "why": "off"})
        else:
            payload = {"thermometer": self._thermometer(), "status": self.random.choice(("in_service", "lost"))}
            self._fact(chain, "service_status_set", payload)

    def _certify(self, chain: Chain) -> None:
        payload = {"outside_certificate": self._id("o"), "certificate_number": "7", "issuer": "Lab", "points": []}
        days = {"issued": "2026-01-01", "due": f"2027-01-0{self.random.randrange(1, 4)}"}
        self._fact(chain, "outside_certificate_set", {"thermometer": self._thermometer()} | payload | days)

    def _make_bath(self, chain: Chain) -> None:
        made = {entry.payload.get("bath") for _, entry in self.told if entry.kind == "bath_made"}
        if (bath := self._bath()) not in made:
            payload = {"made": "crushed_ice", "container": "pot", "reference": "0 C", "components": {}, "version": 1}
            point = self.random.choice(POINTS)
            self._write(chain, "bath_made", {"bath": bath, "site": id_of("s", 0), "point": point} | payload)

    def _read(self, chain: Chain) -> None:
        payload = {"thermometer": self._thermometer(), "reading": self._id("r"), "bath": self._bath()}
        role = self.random.choice(("as_found", "as_found", "as_left", "trial", "no_reading"))
        # An installation makes a check's id when it begins it: it does not read for one that is recorded already.
        first = 1 if self.odd else len(self._checks) + 1
        begun = {"check": id_of("c", self.random.randrange(first, 60))} if self.random.random() < 0.9 else {}
        self._write(chain, "reading_taken", payload | {"role": role, "shown": "0.4 C"} | begun)

    def _check(self, chain: Chain) -> None:
        thermometer, check = self._thermometer(), id_of("c", len(self._checks) + 1)
        bath = self._bath() if self.random.random() < 0.8 else None
        judged = {"offset": f"0.{self.random.randrange(10)} dC", "u": "0.1 dC", "k": "2"}
        outcome = {"outcome": self.random.choice(OUTCOMES)} | ({"bath": bath} if bath else {})
        about = {"thermometer": thermometer, "check": check, "point": self.random.choice(POINTS)}
        if about["point"] == "comparison":
            about |= {"exact": self.random.choice(("4 C", "63 C"))}
        self._write(chain, "check_recorded", about | {"as_found": ["0.4 C"]} | judged | outcome)
        self._checks.append((check, thermometer, bath))

    def _adjust(self, chain: Chain) -> None:
        payload = {"thermometer": self._thermometer(), "adjustment": self._id("a"), "point": "ice_point", "how": "nut"}
        if self.random.random() < 0.5:
            payload |= {"outcome": self.random.choice(OUTCOMES), "offset": "0.1 dC", "bath": self._bath()}
        else:
            payload |= {"not_measured": True}
        if self._checks:
            check, thermometer, _ = self.random.choice(self._checks)
            payload |= {"check": check}
            if self.random.random() < 0.8:  # else it names one of another, as only a damaged record does
                payload |= {"thermometer": thermometer}
        self._write(chain, "adjusted", payload)

    def _judge(self, chain: Chain) -> None:
        # Also of checks that are recorded only later, or by somebody whose entries have not come yet.
        checks = [id_of("c", number) for number in range(1, len(self._checks) + 3)]
        outcomes = {one: self.random.choice(OUTCOMES) for one in checks if self.random.random() < 0.7}
        left = {entry.payload["adjustment"]: "pass" for _, entry in self.told if "adjustment" in entry.payload}
        payload = {"judged": self.random.choice(("accepted", "condemned")), "judged_by": "person"}
        self._fact(chain, "bath_judged", {"bath": self._bath(), "outcomes": outcomes, "as_left": left} | payload)

    def _report(self, chain: Chain) -> None:
        what = self.random.choice(("dropped", "bumped", "cleaned"))
        payload = {"thermometer": self._thermometer(), "incident": self._id("i"), "what": what}
        self._write(chain, "incident_reported", payload)

    def _void(self, chain: Chain) -> None:
        _, entry = self.random.choice(self.told)
        of = subject_of(entry.payload, entry.chain) if self.random.random() < 0.8 else self._thermometer()
        self._write(chain, "voided", {"of": of, "entries": [entry.hash.hex()], "why": "slip"})

    def _open_import(self, chain: Chain) -> None:
        if chain.number not in self._imports:
            named = self._id("m")
            payload = {"import": named, "import_kind": "history", "sha256": "0" * 64, "rows": 1}
            self._write(chain, "import_opened", payload)
            self._imports[chain.number] = named

    def _close_import(self, chain: Chain) -> None:
        if (named := self._imports.pop(chain.number, None)) is not None:
            dropped = {"dropped": True} if self.random.random() < 0.3 else {}
            self._write(chain, "import_closed", {"import": named, "entries": 1} | dropped)

    def _newer(self, chain: Chain) -> None:
        """A kind or a version that this program does not know."""
        payload = {"thermometer": self._thermometer(), "what": "melted", "size": 3}
        kind, kv = self.random.choice((("probe_melted", 1), ("incident_reported", 2)))
        after = [self.random.choice(self.told)[1].hash.hex()]
        self._write(chain, kind, payload, after if self.random.random() < 0.5 else (), kv=kv)

    def _broken(self, chain: Chain) -> None:
        """A known kind that lacks what its form asks for."""
        kind = self.random.choice(sorted(KINDS.keys() - {"chain_opened", "import_opened", "import_closed"}))
        self._write(chain, kind, {"thermometer": self._thermometer(), "bath": "none", "what": 7})


_PLAIN = (
    *("enrol", "name", "move", "take_out", "certify", "make_bath", "read", "check", "check", "adjust"),
    *("judge", "report", "void"),
)
_STEPS = (*_PLAIN, "open_import", "close_import", "newer", "broken")
