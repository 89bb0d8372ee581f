"""A certificate as XML in DCC 3.3.0, an open exchange format of laboratories, for programs that read it.

The same facts give the same bytes. Names of elements are the format's; every sentence is the page's, and no more is
claimed than there. Temperatures stand in kelvin and in °C, differences in kelvin, numbers with a point.
"""

import re
from xml.etree import ElementTree
from xml.etree.ElementTree import Element

from registry.documents import sections, sentences
from registry.documents.certificate import earlier_said
from registry.documents.dcc_parts import Exchange, Making, identification, node
from registry.documents.dcc_results import results
from registry.documents.facts import CannotPrint, CertificateFacts, PersonFacts
from registry.documents.finish import PROGRAM
from registry.documents.words import Words

NAMESPACES = {
    "xmlns:dcc": "https://ptb.de/dcc",
    "xmlns:si": "https://ptb.de/si",
    "xmlns:xsi": "http://www.w3.org/2001/XMLSchema-instance",
    "xsi:schemaLocation": "https://ptb.de/dcc https://ptb.de/dcc/v3.3.0/dcc.xsd",
    "schemaVersion": "3.3.0",
}
VOCABULARY = "https://digilab.ptb.de/dkd/refType/vocab/index.php?tema=2"  # of the terms that begin with basic_
ANY_COUNTRY = "ZZ"
_COUNTRY = re.compile(r"[A-Z]{2}")
_NOT_IN_XML = re.compile("[^\t\n\r\x20-\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def dcc(facts: CertificateFacts, more: Exchange) -> bytes:
    """The document in UTF-8. CannotPrint where a part that the format demands is not known."""
    if not _COUNTRY.fullmatch(more.country) or more.country == ANY_COUNTRY:
        raise CannotPrint("no_country")
    if not more.address.strip():
        raise CannotPrint("no_address", site=more.site)
    making = Making(facts, more, Words(facts.page.language, facts.page.region, facts.page.zone))
    root = node("dcc:digitalCalibrationCertificate", _administrative(making), results(making))
    root.attrib.update(NAMESPACES)
    ElementTree.indent(root)
    text = ElementTree.tostring(root, encoding="unicode")
    if wrong := sorted(set(_NOT_IN_XML.findall(text))):
        raise CannotPrint("missing_characters", characters=" ".join(f"U+{ord(one):04X}" for one in wrong))
    return f'<?xml version="1.0" encoding="UTF-8"?>\n{text}\n'.encode()


# --- whose, what, who ------------------------------------------------------------------------------------------


def _administrative(making: Making) -> Element:
    return node(
        "dcc:administrativeData",
        node(
            "dcc:dccSoftware",
            node(
                "dcc:software",
                making.said("dcc:name", PROGRAM),
                node("dcc:release", making.more.release),
                node("dcc:type", "application"),
            ),
        ),
        node(
            "dcc:refTypeDefinitions",
            node(
                "dcc:refTypeDefinition",
                making.said("dcc:name", "basic"),
                node("dcc:namespace", "basic"),
                node("dcc:link", VOCABULARY),
            ),
        ),
        _core(making),
        node("dcc:items", _item(making)),
        node(
            "dcc:calibrationLaboratory",
            node(
                "dcc:contact",
                making.named(making.words.say("certificate.exchange.checked_by_owner", owner=making.facts.page.owner)),
                _location(making),
            ),
        ),
        _persons(making),
        node(
            "dcc:customer",
            making.named(", ".join(part for part in (making.facts.page.owner, making.more.site) if part)),
            _location(making),
        ),
        node("dcc:statements", *_statements(making)),
    )


def _core(making: Making) -> Element:
    facts, words = making.facts, making.words
    proof, language = facts.proof, facts.page.language
    done = [one.at for one in facts.measured()]
    done += [one.adjustment.at for one in facts.results if one.adjustment]
    identifications = [
        identification(making, "owner", f"sha256:{proof.entry_hash}", making.sentence("proof.hash")),
        identification(making, "owner", proof.key_fingerprint, making.sentence("proof.key")),
        identification(making, "owner", proof.receipt, making.sentence("proof.receipt")),
    ]
    earlier = None
    if facts.earlier:
        earlier = node(
            "dcc:reportAmendedSubstituted",
            node("dcc:typeOfChange", "amended" if facts.earlier.what else "substituted"),
            node("dcc:replacedUniqueIdentifier", facts.earlier.number),
        )
    return node(
        "dcc:coreData",
        node("dcc:countryCodeISO3166_1", making.more.country),
        node("dcc:usedLangCodeISO639_1", language),
        node("dcc:mandatoryLangCodeISO639_1", language),
        node("dcc:uniqueIdentifier", proof.number),
        node("dcc:identifications", *identifications),
        node("dcc:beginPerformanceDate", words.local(min(done)).date().isoformat()),
        node("dcc:endPerformanceDate", words.local(max(done)).date().isoformat()),
        node("dcc:performanceLocation", "customer"),
        node("dcc:issueDate", words.local(facts.people.issued_at).date().isoformat()),
        earlier,
    )


def _item(making: Making) -> Element:
    it, words = making.facts.thermometer, making.words
    known = [
        f"{words.say(f'certificate.thermometer.{code}')}: {value}"
        for code, value in sections.identity(making.facts, words)
        if value
    ]
    identifications = [identification(making, "owner", it.tag_id, making.sentence("exchange.tag"))]
    if it.serial.strip():
        serial = making.sentence("thermometer.serial")
        made = identification(making, "manufacturer", it.serial, serial, refType="basic_serialNumber")
        identifications.insert(0, made)
    return node(
        "dcc:item",
        making.named(words.say(f"type.{it.type}")),
        making.said("dcc:description", *known),
        node("dcc:manufacturer", making.said("dcc:name", it.maker)) if it.maker.strip() else None,
        node("dcc:model", it.model) if it.model.strip() else None,
        node("dcc:identifications", *identifications),
    )


def _location(making: Making) -> Element:
    """The address as it was typed: which part of it is the city is not known, so none is said to be."""
    return node(
        "dcc:location",
        making.said("dcc:further", making.more.address),
        node("dcc:countryCode", making.more.country),
    )


def _persons(making: Making) -> Element:
    people = making.facts.people
    persons = (("checked_by", people.checked_by), ("keyed_by", people.keyed_by), ("reviewed_by", people.reviewed_by))
    return node("dcc:respPersons", *(_person(making, code, one) for code, one in persons if one is not None))


def _person(making: Making, code: str, person: PersonFacts) -> Element:
    name = person.name.strip() or making.sentence("exchange.no_name")
    known = (person.initials, making.words.say(f"role.{person.role}"))
    return node(
        "dcc:respPerson",
        node("dcc:person", making.said("dcc:name", name)),
        making.said("dcc:description", ", ".join(part for part in known if part)),
        node("dcc:role", making.sentence(f"people.{code}")),
    )


def _statements(making: Making) -> list[Element]:
    """What the page says beside its results: what it is and is not, what stands against it, the owner's own."""
    facts, words = making.facts, making.words
    note = "note" if making.more.same_as_issued else "note_since"
    scope = [making.sentence(code) for code in ("scope", "holds_for", "copy", f"exchange.{note}")]
    found = [
        node(
            "dcc:statement",
            making.named(making.sentence("title")),
            node("dcc:traceable", "false"),
            making.said("dcc:declaration", *scope),
        )
    ]
    against = [sentences.standing(facts, words)]
    if facts.page.demo:
        against.insert(0, making.sentence("demo_strip"))
    if (ended := facts.page.superseded) is not None:
        day = words.day(ended.day)
        against.append(words.say(f"certificate.{ended.kind}_strip", number=ended.number, day=day))
    if facts.earlier:
        against.append(earlier_said(facts, words))
    found += [node("dcc:statement", making.said("dcc:declaration", one)) for one in against if one]
    recheck = _recheck(making)
    return [*found, *([recheck] if recheck is not None else []), *_reach(making)]


def _recheck(making: Making) -> Element | None:
    """The recheck date in the words of the page, which say that it is the owner's own."""
    day = making.facts.people.recheck_by
    if day is None:
        return None
    pairs = dict(sections.people_pairs(making.facts, making.words))
    code = "recheck" if pairs["recheck"] else "overdue"
    return node(
        "dcc:statement",
        making.said("dcc:declaration", f"{making.sentence(f'people.{code}')}: {pairs[code]}"),
        node("dcc:date", day.isoformat()),
        refType="basic_recalibration",
    )


def _reach(making: Making) -> list[Element]:
    reach, words = making.facts.reach, making.words
    if reach is None or not reach.rows:
        return []
    lines = []
    for row in reach.rows:
        names = [f"step.{row.step}", *([f"food.{row.food}"] if row.food != "any" else [])]
        said = words.say(
            "certificate.exchange.reach",
            what=", ".join(map(words.say, names)),
            side=making.sentence(f"reach.{row.side}"),
            limit=words.temperature(row.limit),
            shown=words.temperature(row.shown),
        )
        lines.append(said)
    declared = making.said("dcc:declaration", *lines, sections.reach_note(reach, words))
    return [node("dcc:statement", making.said("dcc:name", making.sentence("section.reach")), declared)]
