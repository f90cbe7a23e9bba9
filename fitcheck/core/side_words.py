"""The wearer's sides in words."""

SIDE_WORDS: dict[str | None, str] = {"wearer_left": "your left", "wearer_right": "your right", "both": "both sides", None: ""}


def on_side(side: str | None) -> str:
    """`on your left`, `on your right`, `on both sides`, or nothing on the midline."""
    return f"on {SIDE_WORDS[side]}" if side else ""
