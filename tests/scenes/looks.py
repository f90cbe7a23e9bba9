"""Colours that skin, hair and clothes are drawn in; linear RGB."""

from .spec import Rgb

SKINS: list[Rgb] = [
    (0.6, 0.4, 0.32),
    (0.5, 0.27, 0.19),
    (0.45, 0.3, 0.22),
    (0.33, 0.17, 0.1),
    (0.2, 0.1, 0.06),
    (0.1, 0.05, 0.03),
    (0.55, 0.33, 0.24),
]
HAIRS: list[Rgb] = [
    (0.05, 0.028, 0.015),
    (0.02, 0.015, 0.012),
    (0.4, 0.3, 0.12),
    (0.6, 0.5, 0.3),
    (0.09, 0.04, 0.02),
    (0.3, 0.3, 0.3),
    (0.35, 0.12, 0.05),
]
LEGGINGS: list[Rgb] = [
    (0.035, 0.04, 0.055),
    (0.25, 0.05, 0.08),
    (0.1, 0.1, 0.11),
    (0.02, 0.05, 0.04),
    (0.3, 0.3, 0.35),
    (0.5, 0.1, 0.1),
    (0.05, 0.1, 0.3),
]
TOPS: list[Rgb] = [(0.05, 0.09, 0.12), (0.02, 0.02, 0.025), (0.75, 0.74, 0.72), (0.35, 0.05, 0.1), (0.55, 0.42, 0.35), (0.25, 0.25, 0.28)]
# where half tissues lack width or have too much, and how it is shared out over the levels
SHORT: dict[str, dict[str, dict[str, float]]] = {
    "short at the bust": {"front": {"chest": 0.4, "bust": 1.0, "waist": 0.4, "hip": 0.2}},
    "short at the waist": {"front": {"bust": 0.3, "waist": 1.0, "hip": 0.5}, "back": {"bust": 0.3, "waist": 1.0, "hip": 0.5}},
    "short at the hip": {"front": {"waist": 0.4, "hip": 1.0}, "back": {"waist": 0.4, "hip": 1.0}},
    "short at the blades": {"back": {"chest": 1.0, "bust": 0.8, "waist": 0.2}},
}
OPENED_SIM = {"morph_steps": 1400, "iterations": 3, "friction": 0.35}  # what is open can give way at its edges
