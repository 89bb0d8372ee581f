"""What an infrared thermometer shows beside what it should: emissivity and the room's own radiation."""

EMISSIVITY_SET = 0.95  # fixed in most food infrared thermometers
EMISSIVITY = (0.97, 0.98)  # of water, slush and most moist food
ROOM_C = (25.0, 30.0)  # kitchens, from judgement

_ZERO_C_IN_K = 273.15


def emissivity_bias(celsius: float) -> tuple[float, float]:
    """The least and the greatest bias (shown minus true) at a surface temperature, °C.

    celsius: of the surface, -100 to 400 °C, else ValueError. A surface that emits more than the thermometer believes
    reflects less of the warm room: ice is shown too cold, hot food too warm.
    Source: grey body in a large room, radiated power by Stefan and Boltzmann's law over all wavelengths (a real
    sensor sees 8 to 14 µm only); emissivities and room from judgement.

    >>> [round(each, 1) for each in emissivity_bias(0.0)]
    [-1.1, -0.6]
    """
    if not -100.0 <= celsius <= 400.0:
        raise ValueError("a surface for infrared must be between -100 and 400 °C")
    biases = [_shown(celsius, emissivity, room) - celsius for emissivity in EMISSIVITY for room in ROOM_C]
    return min(biases), max(biases)


def _shown(celsius: float, emissivity: float, room: float) -> float:
    """What is shown, °C: the reading at which the set emissivity explains the radiation that comes in."""
    surface, around = ((each + _ZERO_C_IN_K) ** 4 for each in (celsius, room))
    share = emissivity / EMISSIVITY_SET
    believed: float = (share * surface + (1 - share) * around) ** 0.25
    return believed - _ZERO_C_IN_K
