"""Words of the vocabulary that several layers ask about: which outcomes are good, what unsettles a thermometer."""

GOOD = ("pass", "conditional_pass")
OUTSIDE = ("fail", "conditional_fail", "not_accepted")
# After these a thermometer has to be checked before it is used again.
UNSETTLING = (
    "dropped",
    "bumped",
    "temperature_shock",
    "battery_changed",
    "battery_low",
    "sensor_changed",
    "bent",
    "water_inside",
    "opened",
    "unit_switched",
    "lent",
    "lost",
    "found",
)
