"""How many usable ones a station needs, and the warning before too few remain."""

from registry.services import incidents, places, thermometers, working_set
from registry.services.words import shortage
from registry.services.working_set import TooFew
from tests.services.kitchen import Kitchen


def grill(kitchen: Kitchen, most: int = 3) -> tuple[str, list[str]]:
    station = places.add_station(kitchen.session, kitchen.officer, kitchen.site, "Grill")
    return station, [kitchen.enrol(station=station) for _ in range(most)]


def found(kitchen: Kitchen, without: str = "") -> list[TooFew]:
    with kitchen.session.reading() as connection:
        return working_set.too_few(connection, kitchen.site, without)


def test_fewer_usable_ones_than_a_station_needs(kitchen: Kitchen) -> None:
    station, probes = grill(kitchen)
    assert found(kitchen) == []
    working_set.set_smallest(kitchen.session, kitchen.officer, station, {"thermistor_probe": 3})
    assert found(kitchen) == []
    (before,) = found(kitchen, without=probes[0])  # a warning before it is taken out
    assert (before.usable, before.smallest, before.out) == (2, 3, False)
    thermometers.take_out(kitchen.session, kitchen.lead, probes[0], "spare")
    incidents.report_incident(kitchen.session, kitchen.lead, probes[1], "dropped")
    (few,) = found(kitchen)
    assert (few.name, few.type, few.usable, few.tags) == ("Grill", "thermistor_probe", 1, (kitchen.tag(probes[2]),))
    bath = kitchen.ice()
    kitchen.key(bath, probes[2], "3.0 C", "3.0 C", "3.0 C")
    kitchen.judge(bath)
    assert found(kitchen)[0].out


def said(kitchen: Kitchen, *those: str, language: str = "en") -> list[str]:
    return shortage.sentences(kitchen.session, those, language)


def test_one_sentence_says_what_a_station_is_left_with(kitchen: Kitchen) -> None:
    station, probes = grill(kitchen)
    other = kitchen.dial(station=station)
    working_set.set_smallest(kitchen.session, kitchen.officer, station, {"thermistor_probe": 2})
    thermometers.take_out(kitchen.session, kitchen.lead, probes[0], "spare")
    assert said(kitchen, probes[0]) == []  # two are enough
    thermometers.set_status(kitchen.session, kitchen.officer, probes[1], "limited_use", only="cold")
    few = "Pier, Grill: 1 usable left of Thermistor probe; at least 2 needed."
    assert said(kitchen, probes[0], probes[1]) == [few]
    assert said(kitchen, probes[2]) == []  # it can be used: nothing was done to it
    thermometers.take_out(kitchen.session, kitchen.lead, other, "spare")
    assert said(kitchen, other) == []  # of another type
    assert said(kitchen, probes[1], language="es")[0].endswith("; el mínimo es 2.")


def test_what_a_station_needs_is_changed_and_taken_back(kitchen: Kitchen) -> None:
    station, _ = grill(kitchen, most=0)
    working_set.set_smallest(kitchen.session, kitchen.officer, station, {"thermistor_probe": 1, "rtd_probe": 2})
    before = kitchen.count()
    working_set.set_smallest(kitchen.session, kitchen.officer, station, {"rtd_probe": 2})  # a second press
    assert kitchen.count() == before
    assert [one.type for one in found(kitchen)] == ["rtd_probe", "thermistor_probe"]
    working_set.set_smallest(kitchen.session, kitchen.officer, station, {"thermistor_probe": 0, "rtd_probe": 0})
    assert found(kitchen) == []
    with kitchen.session.reading() as connection:
        (fact,) = places.stations(connection, kitchen.site)
    assert (fact.payload.name, fact.payload.smallest) == ("Grill", None)


def test_what_cannot_be_needed_is_refused(kitchen: Kitchen) -> None:
    station, _ = grill(kitchen, most=0)
    with kitchen.refuses(("type", "choose")):
        working_set.set_smallest(kitchen.session, kitchen.officer, station, {"spoon": 1})
    with kitchen.refuses(("smallest", "not_valid")):
        working_set.set_smallest(kitchen.session, kitchen.officer, station, {"rtd_probe": 100})
    with kitchen.refuses(("station", "unknown")):
        working_set.set_smallest(kitchen.session, kitchen.officer, kitchen.site, {"rtd_probe": 1})
    with kitchen.refuses(("actor", "not_allowed")):
        working_set.set_smallest(kitchen.session, kitchen.lead, station, {"rtd_probe": 1})
