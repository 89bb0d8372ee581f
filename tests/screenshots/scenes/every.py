"""All scenes, in the order of the places."""

from tests.screenshots.scenes import frame, places, shift

SCENES = (*shift.SCENES, *places.SCENES, *frame.SCENES)
