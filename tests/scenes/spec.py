"""What a scene is made from: the fields of spec.json, with what each means when it is left out.

Long, because it is one table of fields.

Lengths of the room, the camera and the card are metres, angles degrees, colours linear RGB in 0..1. L and R are the wearer's.
"""

from typing import Literal, Self

from pydantic import Field, model_validator

from .various.parts import Hand, Part, Print, Stuck, Thing, Wears
from .various.parts import Rgb as Rgb

Markers = Literal["none", "aruco", "pointer", "dots"]
View = Literal["front", "right", "back", "left"]
Device = Literal["cpu", "gpu"]
Letter = Literal["L", "R"]

VIEW_YAW_DEG: dict[View, float] = {"front": 0.0, "right": 90.0, "back": 180.0, "left": -90.0}
LINE_COLOURS: dict[str, Rgb] = {
    "red": (0.75, 0.03, 0.03),
    "blue": (0.02, 0.12, 0.75),
    "green": (0.02, 0.42, 0.08),
    "orange": (0.85, 0.30, 0.01),
    "purple": (0.40, 0.03, 0.50),
    "teal": (0.02, 0.45, 0.5),
    "black": (0.02, 0.02, 0.02),
    "pink": (0.85, 0.05, 0.35),
}
CLOTHS: dict[str, Rgb] = {"muslin": (0.80, 0.76, 0.66), "tissue": (0.62, 0.44, 0.25), "blue": (0.50, 0.64, 0.78)}
USUAL_COLOURS = {
    "centre_front": "red",
    "centre_back": "red",
    "shoulder": "blue",
    "side": "green",
    "waist": "orange",
    "princess": "purple",
    "bust_tick": "purple",
    "princess_back": "purple",
    "dart": "teal",
}
OFFSETS = (
    "shoulder_behind_tip",
    "shoulder_behind_neck",
    "side_forward",
    "waist_up",
    "waist_back_up",  # at the centre back, on top of waist_up
    "bust_mark_up",
    "bust_mark_out",
    "centre_front_left",
    "centre_back_left",
)


def base_name(name: str) -> str:
    """Name without its side: shoulder_L -> shoulder."""
    return name[:-2] if name[-2:] in ("_L", "_R") else name


class Phenotype(Part):
    """Shape parameters of the body model, each 0..1."""

    gender: float = 1.0
    age: float = 0.72
    muscle: float = 0.5
    weight: float = 0.5
    height: float = 0.5
    proportions: float = 0.5
    cupsize: float = 0.5
    firmness: float = 0.5
    african: float = 0.0
    asian: float = 0.0
    caucasian: float = 1.0


class Posture(Part):
    """How she holds herself, degrees."""

    upper_back_round: float = 0.0
    head_forward: float = 0.0
    lordosis: float = 0.0
    shoulder_forward: float = 0.0
    shoulder_forward_right_extra: float = 0.0
    shoulder_drop: float = 0.0
    shoulder_right_lower: float = 0.0  # half of it lowers the right shoulder, half raises the left
    arm_add: float = 24.0  # towards the body
    arm_back: float = 44.0  # so that side seams and the bust's outline are free in side views
    elbow_flex: float = -22.0  # about -45 is straight
    leg_add: float = 4.0  # feet closer together
    arm_add_right_extra: float = 0.0  # her right arm otherwise than her left
    arm_back_right_extra: float = 0.0
    head_turn: float = 0.0  # to her left
    head_tilt: float = 0.0  # to her right
    hip_right_lower: float = 0.0  # the pelvis tilts, the shoulders stay level, the knee of the lower side bends
    pelvis_left: float = 0.0  # the weight on her left leg: both legs lean, so that the pelvis stands over it


class Woman(Part):
    """One body: `local` holds further shape parameters of the model, such as breast-trans-up."""

    phenotype: Phenotype = Phenotype()
    posture: Posture = Posture()
    local: dict[str, float] = Field(default_factory=dict)


class AtLevels(Part):
    """One number a level, mm; between levels it runs straight."""

    chest: float = 0.0
    bust: float = 0.0
    waist: float = 0.0
    hip: float = 0.0


class HalfTissue(Part):
    """Only one side of the shell, cut along the centre front and back.

    `front_short_mm`, `back_short_mm`: by how much its centre lines stay short of the middle on the body it was cut for (below 0: overlap).
    `beyond_mm`: cloth left beyond the centre line; at 0 it is folded there. `held_at`: shares of the way from neck edge to hem at which
    pins or tape hold its edges to what is worn beneath; the rest hangs free.
    """

    side: Letter = "R"
    front_short_mm: AtLevels = AtLevels()
    back_short_mm: AtLevels = AtLevels()
    beyond_mm: float = 10.0
    held_by: Literal["pins", "tape", "nothing"] = "pins"
    held_at: tuple[float, ...] = (0.06, 0.35, 0.62, 0.94)


class Garment(Part):
    """The shell. `front_pins`: it is open at the front and pinned at these shares of the way from the neck edge to the hem.

    `half`: only one side of it is worn. `printed`: lines of nested sizes, arrows and letters all over, as on pattern tissue.
    """

    ease_mm: float = 5.0
    refine: int = 0
    front_pins: tuple[float, ...] = ()
    half: HalfTissue | None = None
    printed: bool = False
    cloth_print: Print | None = None
    see_through: float = 0.0  # share of what lies beneath that shows


class Simulation(Part):
    """Steps of the drape: hung on the reference body, carried over to the subject, left to rest."""

    settle_steps: int = 800
    morph_steps: int = 900
    end_steps: int = 400
    friction: float = 0.8
    iterations: int = 2


class CameraSpec(Part):
    """The phone. `f_error_pct`: by how much its focal length differs from what the file says."""

    size: tuple[int, int] = (1500, 2000)
    f35_mm: float = 52.0
    f_error_pct: float = 0.0
    distance_m: float = 3.0
    height_m: float = 1.1
    x_m: float = 0.15
    aim_height_m: float = 0.85
    dist: tuple[float, float, float, float, float] = (-0.03, 0.01, 0.0, 0.0, 0.0)  # k1 k2 p1 p2 k3
    centre_offset_px: tuple[float, float] = (0.0, 0.0)
    roll_deg: float = 0.0  # held off level, the same in every photo
    jpeg: int = 92
    jitter: float = 1.0  # 1: moved by 8 mm and turned by a quarter of a degree from photo to photo


class CardSpec(Part):
    """Where the scale card stands; yaw is positive when it is turned to image right.

    `held`: on a pole with a foot, taped to a door frame, to the wall behind, or there is none.
    """

    pos_m: tuple[float, float, float] = (0.50, 0.0, 1.12)
    yaw_deg: float = 5.0
    tilt_deg: float = 0.2
    roll_deg: float = 0.1
    held: Literal["stand", "frame", "wall", "nothing"] = "stand"
    stand: Literal["pole", "round", "tripod", "none"] = "pole"


class FloorSheetSpec(Part):
    """A printed sheet lying on the floor, its middle at `pos_m`; yaw counter-clockwise from above. At 0 its words face the camera.

    `curl_mm`: how high its corners stand, `curl_at`: as shares of it, from the upper left one clockwise; `ripple_mm`: how much it follows
    an uneven carpet; `print_share`: its print over the drawing, beside what the printer did to all; `views`: where it lies so (all).
    """

    which: Literal["left", "right"]
    pos_m: tuple[float, float]
    yaw_deg: float = 0.0
    curl_mm: float = 0.0
    ripple_mm: float = 0.0
    print_share: float = 1.0
    curl_at: tuple[float, float, float, float] = (1.0, 1.0, 1.0, 1.0)
    views: tuple[View, ...] = ()


class ToeStrips(Part):
    """The four strips by which she stands and turns: where their tails meet; yaw counter-clockwise from above."""

    pos_m: tuple[float, float] = (0.0, 0.0)
    yaw_deg: float = 0.0


class Standing(Part):
    """How she stands in one photo: turned off the view's direction (None: drawn at random), leaning forward and to her right.

    `off_strip_m`: where there are toe strips, how far beside her marks she stands.
    """

    yaw_err_deg: float | None = None
    lean_deg: tuple[float, float] = (0.0, 0.0)
    stand_m: tuple[float, float] | None = None  # None: on the turning axis; in side views with the near side seam beside the card
    off_strip_m: tuple[float, float] = (0.0, 0.0)


class Colours(Part):
    """Of the body and the room."""

    skin: Rgb = (0.50, 0.27, 0.19)
    hair: Rgb = (0.05, 0.028, 0.015)
    leggings: Rgb = (0.035, 0.04, 0.055)
    top: Rgb = (0.05, 0.09, 0.12)
    beneath: Literal["bra", "top"] = "bra"  # how much of her the top covers
    wall: Rgb = (0.66, 0.64, 0.60)
    floor: Rgb = (0.30, 0.20, 0.13)
    side_wall: Rgb = (0.6, 0.58, 0.55)


class Light(Part):
    """A window at one side (`from_side`, as seen in the picture), a lamp above, and what the room throws back."""

    from_side: Literal["left", "right"] = Field(default="left", validation_alias="from", serialization_alias="from")
    y_m: float = -1.2
    window: float = 100.0
    rgb: Rgb = (1.0, 0.97, 0.92)
    fill: float = 14.0
    fill_rgb: Rgb = (1.0, 0.93, 0.84)
    ambient: float = 0.14
    exposure: float = 0.55
    flash: float = 0.0


class Room(Part):
    """The wall behind her, the grain of the floor, its covering and what stands there; `cupboard`: place and height of a low one."""

    wall_y_m: float = 0.85
    floor_grain: tuple[float, float, float] = (1.0, 12.0, 1.0)
    carpet: bool = False
    laid: Literal["boards", "planks", "tiles"] = "boards"
    cupboard: tuple[float, float, float] | None = None
    wall_print: Print | None = None
    things: tuple[Thing, ...] = ()


class Spec(Part):
    """One scene. `reference` is whom the garment was cut for, `subject` who wears it; `line_offsets_mm` shifts lines and marks."""

    name: str
    seed: int = 0
    note: str = ""
    reference: Woman = Woman()
    subject: Woman = Woman()
    line_offsets_mm: dict[str, float] = Field(default_factory=dict)
    garment: Garment = Garment()
    sim: Simulation = Simulation()
    cloth: str | Rgb = "muslin"
    line_colours: dict[str, str] = Field(default_factory=dict)
    line_width_mm: float = 3.0
    hide_lines: tuple[str, ...] = ()
    markers: Markers = "aruco"
    no_marker: tuple[str, ...] = ()
    camera: CameraSpec = CameraSpec()
    card: CardSpec = CardSpec()
    floor_sheets: tuple[FloorSheetSpec, ...] = ()
    toe_strips: ToeStrips | None = None
    print_share: float = 1.0  # of card, sheets and stickers: one printer's
    views: dict[View, Standing] = Field(default_factory=dict)
    colours: Colours = Colours()
    light: Light = Light()
    room: Room = Room()
    hand: Hand = Hand()
    stuck: Stuck = Stuck()
    wears: Wears = Wears()
    samples: int = 16  # rays per pixel
    blur_px: float = 0.45
    noise: float = 1.5

    @model_validator(mode="after")
    def _known_words(self) -> Self:
        unknown = {name for name in self.line_offsets_mm if base_name(name) not in OFFSETS}
        unknown |= ({*self.line_colours, *self.hide_lines}) - {*USUAL_COLOURS}
        unknown |= {*self.line_colours.values()} - {*LINE_COLOURS}
        if isinstance(self.cloth, str):
            unknown |= {self.cloth} - {*CLOTHS}
        if unknown:
            raise ValueError(f"unknown words: {', '.join(sorted(unknown))}")
        return self

    @property
    def letters(self) -> tuple[Letter, ...]:
        """Her sides that the garment covers."""
        return (self.garment.half.side,) if self.garment.half else ("L", "R")

    @property
    def cloth_rgb(self) -> Rgb:
        """Colour of the cloth."""
        return CLOTHS[self.cloth] if isinstance(self.cloth, str) else self.cloth

    def line_rgb(self, line: str) -> Rgb:
        """Colour a line is drawn in."""
        return LINE_COLOURS[(USUAL_COLOURS | self.line_colours)[base_name(line)]]

    def as_preview(self) -> Self:
        """Small and noisy: 600 x 800 at 4 samples."""
        return self.model_copy(update={"camera": self.camera.model_copy(update={"size": (600, 800)}), "samples": 4})
