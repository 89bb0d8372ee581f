"""Invented facts to print: the usual ones, and those at the edges."""

from dataclasses import replace
from datetime import UTC, date, datetime
from decimal import Decimal
from io import BytesIO
from typing import Any

from cryptography.hazmat.primitives.asymmetric.ed25519 import Ed25519PrivateKey
from PIL import Image

from registry.documents.facts import (
    Adjustment,
    BathFacts,
    Cell,
    CertificateFacts,
    HistoryFacts,
    IdentityFacts,
    LimitFacts,
    Measured,
    MethodFacts,
    PageFacts,
    Past,
    PeopleFacts,
    PersonFacts,
    PointResult,
    PressureFacts,
    ProofFacts,
    Reach,
    ReachFacts,
    ReferenceFacts,
    ScaleFacts,
    StatusFacts,
    ThermometerFacts,
)
from registry.documents.site_facts import OverviewFacts, OverviewPart
from registry.journal.entry import text_hash
from registry.journal.receipt import receipt_text
from registry.journal.signing import fingerprint, sign_head
from registry.journal.text import encode
from registry.quantity import Length, Pressure, Reading, TemperatureDifference, mean_difference


def _logo() -> bytes:
    out = BytesIO()
    Image.new("P", (200, 60), 3).save(out, "PNG")
    return out.getvalue()


LOGO = _logo()
KEY = Ed25519PrivateKey.from_private_bytes(bytes(range(32)))
CHAIN = KEY.public_key().public_bytes_raw()


def at(day: int, hour: int, minute: int) -> int:
    return int(datetime(2026, 3, day, hour, minute, tzinfo=UTC).timestamp()) * 1_000_000


def difference(text: str) -> TemperatureDifference:
    return TemperatureDifference.from_text(text)


def proof(number: str = "LMHK41352") -> ProofFacts:
    text = encode({"kind": "certificate_issued", "payload": {"certificate": "0" * 32}, "seq": 4135, "v": 1})
    digest = text_hash(text)
    return ProofFacts(
        number=number,
        entry_hash=digest.hex(),
        key_fingerprint=fingerprint(CHAIN).hex(),
        receipt=receipt_text(CHAIN, 4135, digest, sign_head(KEY, CHAIN, 4135, digest)),
        entries=(text, encode({"kind": "check_recorded", "seq": 4127, "v": 1})),
    )


PAGE = PageFacts(
    language="en",
    region="en_GB",
    zone="Europe/London",
    paper="a4",
    owner="Lindmoor Community Kitchens",
    site="Quarry Lane Kitchen, 14 Quarry Lane, Lindmoor",
)
LIMIT_C = LimitFacts(
    tolerance=difference("1 dC"),
    tolerance_class="food",
    scale="C",
    rule_number="LMHK01002",
    since=date(2025, 9, 2),
    source="FDA Food Code 2022, 4-203.11(A)",
    decision="guard_band",
)
LIMIT_F = replace(
    LIMIT_C,
    tolerance=difference("2 dF"),
    scale="F",
    source="FDA Food Code 2022, 4-203.11(B)",
    decision="four_outcomes",
)
ICE = BathFacts(number="LMHK4096H", point="ice_point", made="crushed_packed", u=difference("0.0577 dC"), others=5)
BOIL = BathFacts(
    number="LMHK4111V",
    point="boiling_point",
    made="rolling_boil",
    u=difference("0.2887 dC"),
    others=1,
    pressure=PressureFacts(
        source="room_barometer",
        station=Pressure.from_text("893.2 hPa"),
        elevation=Length.from_text("1048 m"),
        usual=Pressure.from_text("893.5 hPa"),
        barometer="SB002Y",
        read_at=at(10, 14, 20),
    ),
)
COMPARISON = BathFacts(
    number="LMHK4200X",
    point="comparison",
    made="hot_flask",
    u=difference("0.1155 dC"),
    references=(
        ReferenceFacts(
            tag_id="LM001R",
            certificate_number="K-2025-0417",
            issuer="Ostvik Metrology",
            issued=date(2025, 6, 12),
        ),
    ),
)


def measured(*typed: str, reference: str, limits: LimitFacts = LIMIT_C, bath: BathFacts = ICE, **more: Any) -> Measured:
    """Readings against a reference; the offset is worked out as the journal freezes it."""
    readings = tuple(Reading.from_text(each) for each in typed)
    values = {"outcome": "pass", "at": at(10, 6, 38), "expanded": difference("0.45 dC"), "k": Decimal("2.02")}
    values |= more
    return Measured(
        readings=readings,
        reference=Reading.from_text(reference),
        offset=exact(readings, reference, limits).rounded(4),
        limits=limits,
        bath=bath,
        **values,
    )


def exact(readings: tuple[Reading, ...], reference: str, limits: LimitFacts) -> TemperatureDifference:
    against = Reading.from_text(reference)
    return mean_difference([each - against for each in readings]).to(limits.tolerance.unit)


THERMOMETER = ThermometerFacts(
    tag_id="LM214L",
    type="bimetal_stem",
    adjustable=True,
    maker="Varnholt",
    model="BS 125",
    serial="0931177",
    scales=(
        ScaleFacts(step=difference("1 dC"), lowest=Reading.from_text("-10 C"), highest=Reading.from_text("110 C")),
    ),
    condition="stem straight, glass clear",
    station="Hot line 2",
    in_use_since=date(2024, 11, 4),
)
PEOPLE = PeopleFacts(
    checked_by=PersonFacts(name="Ines Okafor", initials="IO", role="lead"),
    reviewed_by=PersonFacts(name="Tomas Brandt", initials="TB", role="officer"),
    recorded_at=(at(10, 6, 39), at(10, 6, 48)),
    issued_at=at(11, 9, 21),
    recheck_by=date(2026, 3, 17),
)
USUAL = CertificateFacts(
    page=PAGE,
    thermometer=THERMOMETER,
    results=(
        PointResult(
            point="ice_point",
            check_number="LMHK4127X",
            as_found=measured("2.5 C", reference="0.0 C", outcome="fail", chance=0.0004),
            adjustment=Adjustment(
                how="nut",
                at=at(10, 6, 42),
                as_left=measured("0.0 C", reference="0.0 C", at=at(10, 6, 47), chance=0.9995),
            ),
        ),
    ),
    methods=(
        MethodFacts(
            name="ICE",
            edition=3,
            steps="stem 60\u00a0mm deep, clear of wall and bottom, read to half a division when still for 15\u00a0s.",
        ),
    ),
    people=PEOPLE,
    proof=proof(),
    components=("bath", "resolution", "repeatability", "stem"),
    why_now="Dropped, 9\u00a0March 2026, 16:10",
)


def with_page(facts: CertificateFacts, **more: Any) -> CertificateFacts:
    return replace(facts, page=replace(facts.page, **more))


DEMO = with_page(USUAL, demo=True)
SPANISH = replace(
    with_page(USUAL, language="es", region="es_ES", zone="Europe/Madrid"),
    methods=(
        MethodFacts(
            name="HIELO",
            edition=3,
            steps="varilla a 60\u00a0mm de profundidad, sin tocar pared ni fondo, leída a media división tras "
            "15\u00a0s sin moverse.",
        ),
    ),
    why_now="Se cayó, 09-03-2026, 16:10",
)
LONGEST = replace(
    with_page(
        SPANISH,
        owner="Cooperativa de Comedores Escolares y Comunitarios Nuestra Señora de las Encinas, "
        "S. Coop. de Iniciativa Social",
        site="Cocina Central y Centro de Producción n.º 3 «Barranco de las Golondrinas», Camino Viejo de "
        "la Alquería, s/n, Villarrubia de los Alcores",
    ),
    thermometer=replace(
        THERMOMETER,
        tag_id="BG158XABCDEF",
        maker="Fábrica Nacional de Instrumentos de Medida Varnholt y Compañía",
        serial="0931177-ABCDEFGHIJ-KLMNOP-2024",
        station="Línea caliente 2, marmitas y hornos de convección del ala norte",
        condition="varilla recta, cristal limpio, rayado en el borde",
    ),
    people=replace(
        PEOPLE,
        checked_by=PersonFacts(
            name="María de los Ángeles Etxeberria-Goikoetxea y Ruiz de Alarcón", initials="MAE", role="lead"
        ),
        reviewed_by=PersonFacts(
            name="Francisco Javier Fernández de Villavicencio Montesinos", initials="FJF", role="officer"
        ),
    ),
    proof=proof("BGHK184625X"),
)
FAHRENHEIT = replace(
    with_page(
        USUAL,
        region="en_US",
        zone="America/Chicago",
        paper="letter",
        units=("F", "C"),
        owner="Juniper Bench Dining Services",
        site="Saltbush Hall Kitchen, 2210 Cutbank Road, Juniper Bench",
    ),
    thermometer=ThermometerFacts(
        tag_id="SB037C",
        type="thermistor_probe",
        adjustable=False,
        maker="Ellmarsh",
        model="T3",
        serial="T3-558120",
        scales=(
            ScaleFacts(
                step=difference("0.1 dF"),
                lowest=Reading.from_text("-40 F"),
                highest=Reading.from_text("302 F"),
            ),
        ),
        condition="probe straight, seal sound, clean",
        station="Grill 1",
        in_use_since=date(2025, 5, 19),
    ),
    results=(
        PointResult(
            point="ice_point",
            check_number="SBHK9101K",
            as_found=measured(
                "31.2 F",
                "31.1 F",
                "31.2 F",
                reference="32.0 F",
                limits=LIMIT_F,
                expanded=difference("0.24 dF"),
                k=Decimal("2.00"),
                at=at(10, 14, 2),
                chance=0.99999,
            ),
        ),
        PointResult(
            point="boiling_point",
            check_number="SBHK9108P",
            as_found=measured(
                "207.3 F",
                "207.4 F",
                "207.3 F",
                reference="205.7 F",
                limits=LIMIT_F,
                bath=BOIL,
                expanded=difference("0.48 dF"),
                k=Decimal("2.00"),
                outcome="conditional_pass",
                at=at(10, 14, 24),
                chance=0.91,
            ),
        ),
    ),
    methods=(
        MethodFacts(
            name="ICE",
            edition=3,
            steps="probe at least 2\u00a0in deep, clear of wall and bottom; three readings, 30\u00a0s apart.",
        ),
        MethodFacts(
            name="BOIL",
            edition=4,
            steps="probe in the water, clear of the pot; three readings, each when steady for 15\u00a0s.",
        ),
    ),
    components=("bath", "pressure", "repeatability", "resolution", "stem"),
    why_now="Every 7 days; last good check March\u00a03, 2026",
)
HISTORY = HistoryFacts(
    past=tuple(
        Past(
            at=at(10, 6, 0) - (16 - number) * 5 * 86_400_000_000,
            point="boiling_point" if number % 3 == 0 else "ice_point",
            reference=Reading.from_text("99.8 C" if number % 3 == 0 else "0.0 C"),
            offset=difference(f"{number % 5 * 0.3 - 0.5:.1f} dC"),
            expanded=difference("0.45 dC") if number else None,
        )
        for number in range(16)
    ),
    happened=(
        (at(1, 9, 0) - 30 * 86_400_000_000, "battery_changed"),
        (at(2, 9, 0), "dropped"),
        (at(8, 9, 0), "adjusted"),
    ),
)
REACH = ReachFacts(
    rows=(
        Reach(
            step="cooking",
            food="poultry",
            side="at_least",
            limit=Reading.from_text("74 C"),
            shown=Reading.from_text("75.5 C"),
        ),
        Reach(
            step="cooking",
            food="ground_meat",
            side="at_least",
            limit=Reading.from_text("68 C"),
            shown=Reading.from_text("69.0 C"),
        ),
        Reach(
            step="hot_holding",
            food="any",
            side="at_least",
            limit=Reading.from_text("57 C"),
            shown=Reading.from_text("58.0 C"),
        ),
        Reach(
            step="cold_holding",
            food="any",
            side="at_most",
            limit=Reading.from_text("5 C"),
            shown=Reading.from_text("4.0 C"),
        ),
    ),
    until=date(2026, 3, 17),
)


def one_point(as_found: Measured, adjustment: Adjustment | None = None, **more: Any) -> CertificateFacts:
    result = PointResult(point=as_found.bath.point, check_number="LMHK4127X", as_found=as_found, adjustment=adjustment)
    return replace(USUAL, results=(result,), **more)


IDENTITY = IdentityFacts(tag_id="LM214L", type="bimetal_stem", owner="Lindmoor Community Kitchens", language="en")
CELLS = (
    Cell(use="cook", side="at_least", limit=Reading.from_text("74 C"), shown=Reading.from_text("75.5 C")),
    Cell(use="hot", side="at_least", limit=Reading.from_text("57 C"), shown=Reading.from_text("58.0 C")),
    Cell(use="cold", side="at_most", limit=Reading.from_text("5 C"), shown=Reading.from_text("4.0 C")),
)
USE = StatusFacts(
    tag_id="LM214L",
    status="in_service",
    number="LMHK4127X",
    checked=date(2026, 3, 10),
    initials="IO",
    language="en",
    region="en_GB",
    recheck_by=date(2026, 3, 17),
    cells=CELLS,
)
LIMITED = replace(USE, tag_id="LM207J", status="limited_use", only="cold", cells=CELLS[2:], number="LMHK4113E")
OUT = replace(
    USE,
    tag_id="LM219B",
    status="out_of_use",
    cells=(),
    recheck_by=None,
    number="LMHK4129X",
    why="3.5\u00a0°C off, cannot be adjusted.",
    give_to="Tomas Brandt",
)

OVERVIEW = OverviewFacts(
    page=USUAL.page,
    as_of="As of 10 March 2026",
    answer="**3 of 214** thermometers may be out by **2 June**.",
    parts=(
        OverviewPart(
            name="Who may be out soonest",
            heads=("Tag", "What it is", "Site", "Off by today", "Chance", "5\u00a0% by"),
            rows=(
                ("LM214L", "Varnholt BS 125", "Quarry Lane Kitchen", "+0.8\u00a0°C", "41\u00a0%", "22\u00a0May"),
                (
                    "LM044D",
                    "Nembra N3 with a long name of its model",
                    "Pell Street",
                    "−0.7\u00a0°C",
                    "9\u00a0%",
                    "",
                ),
            ),
            figures=3,
            note="May be out: more than a 5\u00a0% chance.",
        ),
        OverviewPart(name="To replace", sentences=("None.",)),
    ),
)
