"""All scenes, in the order of the places."""

from tests.screenshots.scenes import frame, places, shift, tags

SCENES = (*shift.SCENES, *places.SCENES, *tags.SCENES, *frame.SCENES)
