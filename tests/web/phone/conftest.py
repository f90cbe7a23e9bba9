"""Two networks need rights that not every machine gives; where they are lacking, only the tests on its own loop are collected."""

from web.phone.two_networks import possible

collect_ignore = [] if possible() else ["test_two_networks.py"]
