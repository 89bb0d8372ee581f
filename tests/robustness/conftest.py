"""Kitchens and small disks, as the tests of services and store have them."""

from tests.services.conftest import any_kitchen, first_kitchen, kitchen
from tests.store.conftest import own_mounts, small_disk

__all__ = ["any_kitchen", "first_kitchen", "kitchen", "own_mounts", "small_disk"]
