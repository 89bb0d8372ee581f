"""A line of a thermometer's history in words: what kind of entry it is, and what that says by code."""

from collections.abc import Mapping
from typing import Any

from registry import resources
from registry.wording import say

# What an entry says first of all, and the words that there are for its code.
SAID = {
    "what": ("incident.{}",),
    "status": ("status.{}",),
    "why": ("out_of_use.{}", "no_reading.{}", "due_state.{}", "story.void_why.{}"),
    "tag_id": (),
    "tag": ("tags.kind_{}",),
    "how": ("adjustment.{}",),
}


def kind(code: str, language: str) -> str:
    """The kind of an entry; as it is called in the record where it has no words."""
    sentence = f"cli.kind.{code}"
    return say(sentence, language) if sentence in resources.texts(language) else code


def detail(payload: Mapping[str, Any], language: str) -> str:
    """What an entry says, in words where its code has some; empty where it says nothing of the kind."""
    key = next((one for one in SAID if one in payload), "")
    code = str(payload.get(key, ""))
    known = (one.format(code) for one in SAID.get(key, ()))
    sentence = next((one for one in known if one in resources.texts(language)), "")
    return say(sentence, language) if sentence else code.replace("_", " ")
