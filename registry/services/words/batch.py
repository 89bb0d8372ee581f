"""Why one gets no certificate when those of a site are issued; the window and the command line say it alike."""

from registry import resources
from registry.services.batch_certificates import Cannot
from registry.wording import say


def cannot(one: Cannot, language: str) -> str:
    code = f"batch.cannot.{one.code}"
    if code not in resources.texts(language):
        code = "batch.cannot.otherwise"
    return say(code, language, tag=one.tag_id, number=one.number)
