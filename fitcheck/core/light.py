"""How pictures are coded."""

GAMMA = 2.2  # of the display that pictures are coded for (IEC 61966-2-1, nearly): light is a picture's value, 0 to 1, to this power
