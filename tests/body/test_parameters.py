"""Every unknown has one place of its own."""

from fitcheck.body.parameters import SHARED_PARAMETERS, VIEW_PARAMETERS, number_parameters
from fitcheck.body.shape import body_shape


def test_every_parameter_is_numbered_once():
    body = body_shape()
    at = number_parameters((*body.keys, ("bust_mark", "wearer_left")), ("front", "back"), body, [("seat", None)], {})
    places = [3 * number + axis for number in at.number.values() for axis in range(3)]
    places += [first + i for first in at.views.values() for i in range(VIEW_PARAMETERS)]
    shared = [at.stature, at.print_scale, at.focal, at.ease, at.sticker, at.card_depth, at.hang, at.hang + 1]
    assert len(shared) == SHARED_PARAMETERS
    places += [*shared, *at.stand_off.values(), *at.model]
    assert sorted(places) == list(range(at.size))
