"""What was true, kept beside the demo for its tests; the program never reads it."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sample_db.physics import Instrument
from sample_db.scenario import DAY_US

FILE_NAME = "truth.json"


@dataclass
class Truth:
    """Gathered while the demo is built.

    thermometers: by id, the true state. baths: by id, the true temperature, °C, and what was wrong with it.
    events: what was planted or happened, with ids and instants.
    """

    thermometers: dict[str, dict[str, Any]] = field(default_factory=dict)
    baths: dict[str, dict[str, Any]] = field(default_factory=dict)
    events: list[dict[str, Any]] = field(default_factory=list)

    def add_thermometer(self, thermometer: str, tag: str, key: str, true: Instrument) -> None:
        self.thermometers[thermometer] = {
            "tag": tag,
            "key": key,
            "model": true.model.model,
            "first_at": true.first_at,
            "walk": [round(offset, 4) for offset in true.walk],
            "slope": round(true.slope, 6),
            "bias": true.model.bias,
            "noise": true.model.noise,
            "step": str(true.step),
            "unit": true.model.unit,
            "jumps": [[at, round(jump, 4), why] for at, jump, why in true.jumps],
        }

    def add_event(self, kind: str, from_at: int, to_at: int, **more: Any) -> dict[str, Any]:
        self.events.append({"kind": kind, "from_at": from_at, "to_at": to_at, **more})
        return self.events[-1]

    def write(self, folder: Path) -> None:
        said = {
            "about": "What was true in the demo, for tests only; the program never reads it. All of it is invented.",
            "events": self.events,
            "thermometers": self.thermometers,
            "baths": self.baths,
        }
        (folder / FILE_NAME).write_text(json.dumps(said, sort_keys=True), encoding="utf-8")


def load(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / FILE_NAME).read_text(encoding="utf-8"))
    return found


def true_offset(truth: Mapping[str, Any], thermometer: str, at: int, celsius: float = 0.0) -> float:
    """The true offset at an instant and a temperature, °C, of what bore this id's label then."""
    one = truth["thermometers"][_read_as(truth, thermometer, at)]
    day = min(max((at - one["first_at"]) // DAY_US, 0), len(one["walk"]) - 1)
    jumped = sum(jump for when, jump, _ in one["jumps"] if when <= at)
    found: float = one["walk"][day] + jumped + one["slope"] * celsius + one["bias"]
    return found


def _read_as(truth: Mapping[str, Any], thermometer: str, at: int) -> str:
    for event in truth["events"]:
        swapped = event["kind"] == "label_swap" and event["from_at"] <= at <= event["to_at"]
        if swapped and thermometer in event["thermometers"]:
            (other,) = {*event["thermometers"]} - {thermometer}
            return str(other)
    return thermometer
