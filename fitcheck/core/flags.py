"""Every doubt fitcheck can have about a result, defined once.

A flag is a code on a record. The sentence says what is in doubt, `retake` how to take the photo (or mark the garment) so that
the doubt goes away. A flag never stops the work; what stops the work is an error (`core.errors`).
"""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Flag:
    """One kind of doubt.

    Attributes
    ----------
    code : str
        Name used in records and in `fitcheck.json`.
    says : str
        A plain sentence for the wearer.
    retake : str
        What to do so that the doubt goes away.
    """

    code: str
    says: str
    retake: str


_ALL = (
    Flag("blurred", "This photo is blurred.", "Rest the phone on something firm, use the self-timer and add light."),
    Flag("dark", "This photo is too dark to find thin seam lines safely.", "Face a window or switch on more lamps; no flash."),
    Flag("overexposed", "Large parts of this photo are burnt out.", "Turn away from direct sun or lower the exposure."),
    Flag(
        "cropped",
        "Part of the body lies outside the picture.",
        "Step back or raise the camera until head and feet are both in the picture.",
    ),
    Flag(
        "cut_off",
        "Too much of the body lies outside this photo for it to agree with the others; it was left out.",
        "Step back or raise the camera until head and feet are both in the picture.",
    ),
    Flag(
        "low_resolution",
        "This photo has few pixels, so every measurement is coarser.",
        "Send the camera's original file, not a copy from a messenger.",
    ),
    Flag(
        "compressed",
        "This photo was compressed hard, so every measurement is coarser.",
        "Send the camera's original file, not a copy from a messenger.",
    ),
    Flag("no_person", "No person was found in this photo.", "Stand in the middle of the picture, head to feet, before a plain wall."),
    Flag("several_people", "More than one person is in this photo; the largest was measured.", "Let the helper step out of the picture."),
    Flag("no_card", "The scale card was not found in this photo.", "Hang the card upright beside you, wholly in view and not in shadow."),
    Flag("card_partly_hidden", "Part of the scale card is hidden.", "Move your arm or the card so that all of it shows."),
    Flag("card_oblique", "The scale card is turned away from the camera.", "Turn the card so that it squarely faces the camera."),
    Flag(
        "card_not_plumb",
        "The scale card seems not to hang plumb against the camera.",
        "Let the card hang freely or set it upright with a spirit level.",
    ),
    Flag(
        "card_turned",
        "The scale card hangs on its side or upside down in this photo; it was read so.",
        "Hang the card with its words upright.",
    ),
    Flag(
        "photo_turned",
        "This photo lay on its side or stood on its head; it was turned upright.",
        "Turn photos upright before you save them.",
    ),
    Flag(
        "photo_mirrored",
        "This photo was mirrored, as the scale card shows; it was mirrored back.",
        "Switch off mirroring of the front camera, or use the main camera.",
    ),
    Flag(
        "photo_stretched",
        "This photo was stretched in one direction, as the squares of the scale card show; it was put right.",
        "Send the camera's original file, not one that was fitted into another shape.",
    ),
    Flag("card_scale_odd", "The printed card seems not to be at full size.", "Measure its 100 mm bar and tell how long it is."),
    Flag(
        "height_odd",
        "The height you told contradicts the size of the printed stickers.",
        "Measure your height again, and check its unit and that the stickers were printed at 100 %.",
    ),
    Flag("scale_without_card", "No scale card was used; lengths rest on a less exact scale.", "Print the scale card for the next fitting."),
    Flag(
        "focal_unknown",
        "The photo does not say which lens took it, so depth is less certain.",
        "Send the camera's original file, which carries the lens data.",
    ),
    Flag(
        "turned",
        "You stood turned by more than 3 degrees in this photo; it was corrected for as far as possible.",
        "Put your feet on a taped line square to the camera.",
    ),
    Flag(
        "stance_uneven",
        "You do not stand evenly in this photo (weight on one leg, or one arm or foot held otherwise), so the heights of your shoulders "
        "were not compared.",
        "Stand with your weight on both feet, side by side, and let both arms hang alike.",
    ),
    Flag(
        "view_mixed_up",
        "This photo does not look like the view its file name says.",
        "Check the file names: right means your right side faces the camera.",
    ),
    Flag("different_person", "The body in this photo is not the one in the other photos.", "Use photos of one fitting only."),
    Flag(
        "contradicts_others",
        "This photo contradicts the others: it seems to be of another fitting, or the card was moved for it; it was left out.",
        "Use photos of one fitting, and leave card and camera where they are.",
    ),
    Flag(
        "card_moved",
        "The card hangs at another height in this photo than in the others, as its stand shows; that was allowed for, less exactly.",
        "Leave the card where it is between the photos.",
    ),
    Flag(
        "wall_card_moved",
        "The wall card hangs elsewhere in this photo than in the one before, as the floor sheets show; that was allowed for.",
        "Leave the card where it is between the photos.",
    ),
    Flag(
        "card_crooked",
        "The wall card hangs crooked against the floor; plumb was taken from the floor sheets.",
        "Nothing is wrong unless your floor slopes; hang the card by a thread if it does.",
    ),
    Flag(
        "card_height_odd",
        "The card does not hang as high above the floor sheets as you told; the sheets were believed.",
        "Measure again from the floor to the card's lowest squares, and see that sheets, card and you are on one floor.",
    ),
    Flag(
        "floor_left_moved",
        "The left floor sheet lies elsewhere in this photo than in the one before; that was allowed for.",
        "Tape the floor sheets down on all sides, and step beside them.",
    ),
    Flag(
        "floor_right_moved",
        "The right floor sheet lies elsewhere in this photo than in the one before; that was allowed for.",
        "Tape the floor sheets down on all sides, and step beside them.",
    ),
    Flag(
        "floor_sheet_missing",
        "Only one of the two floor sheets could be read in this photo.",
        "Lay both sheets beside your feet, wholly in the picture, neither before nor under them, and light them evenly.",
    ),
    Flag(
        "floor_sheet_poor",
        "A floor sheet does not lie flat in this photo, or shows only in part, so it tells the floor less exactly.",
        "Tape its four corners down, on a carpet with stiff board under it, and keep feet and shadows off it.",
    ),
    Flag(
        "floor_sheets_differ",
        "The two floor sheets are not printed to the same size.",
        "Print both again together at 100 %, and measure the long bar of each.",
    ),
    Flag("view_missing", "This view was not photographed.", "Add the missing photo; each view shows what the others cannot."),
    Flag(
        "marker_missing",
        "No sticker was found for this point; it was estimated from pose and outline.",
        "Stick its marker on, or draw the point in.",
    ),
    Flag("point_seen_once", "This point was seen in one photo only, so its depth is estimated.", "Add the view at right angles."),
    Flag(
        "marker_guessed",
        "This sticker is seen so obliquely that it was known by its place and pattern only.",
        "Use the pointer marker for this point.",
    ),
    Flag(
        "placed_far",
        "A point put right by hand lies far from where the body has it, so it hardly counts.",
        "Look again at where it lies, in the upright photo at its full size.",
    ),
    Flag(
        "seam_extended",
        "The seam was continued to its end, which a sticker or the arm covers.",
        "Use pointer markers, which leave the seam free.",
    ),
    Flag("seam_unsure", "Which seam this line is was a close call.", "Use one colour per seam."),
    Flag(
        "line_faint",
        "This line is hardly more than a shade; it may be the rim of the cloth and no drawn seam.",
        "Draw the seam lines with a strong pen in a colour that the cloth has nowhere.",
    ),
    Flag(
        "edge_unsure",
        "Much of this edge of the garment is hardly to be told from what lies beside it.",
        "Wear something of another colour underneath, put the hair up, and light the garment evenly.",
    ),
    Flag(
        "half_right",
        "The photos show a half tissue on your right side, though nothing was said of it; it was measured as one.",
        "If that is right, all is well; if the garment covers both sides, say so with the facts of the fitting.",
    ),
    Flag(
        "half_left",
        "The photos show a half tissue on your left side, though nothing was said of it; it was measured as one.",
        "If that is right, all is well; if the garment covers both sides, say so with the facts of the fitting.",
    ),
    Flag(
        "half_unsure",
        "A half tissue was told, but on which side it is worn does not show clearly; it was taken for the one named above its numbers.",
        "Say with the facts of the fitting which half it is, and wear something of another colour underneath.",
    ),
    Flag(
        "tissue_swings",
        "The half tissue hangs off your body otherwise than pinned tissue does: it seems to swing free.",
        "Pin it to what you wear underneath all along the centre front and the centre back, and take the photos again.",
    ),
    Flag(
        "centre_by_edge",
        "No centre line shows here, so it was taken from the half tissue's edge, less the allowance that is told or the other view shows.",
        "Draw the centre lines with a strong pen, or fold the allowance under at the centre.",
    ),
    Flag(
        "no_cloth",
        "The garment could not be told from skin and wall in this photo, so nothing was read off it.",
        "Stand before a wall of another colour than the garment, in even light.",
    ),
    Flag(
        "lines_unseen",
        "The cloth has a pattern or creases of its own, among which drawn seam lines cannot be told in this photo; none was read.",
        "Draw the seam lines twice as wide in a colour that the cloth has nowhere, or lay plain coloured tape along them.",
    ),
    Flag(
        "point_hidden", "The body point this is measured from is hidden and was estimated.", "Hold the arm a little further from the body."
    ),
    Flag(
        "tape_disagrees",
        "A tape measurement and the photos disagree by more than both can be wrong.",
        "Measure again with the tape level and snug, and check the unit that you told and the card's 100 mm bar.",
    ),
    Flag(
        "cloth_crumpled",
        "The cloth is crumpled everywhere in this photo, so its folds say nothing about the fit.",
        "Press the tissue with a cool dry iron before the next fitting.",
    ),
    Flag(
        "packet_creases",
        "Creases from the packet run over the cloth in this photo in a regular grid; they were left out of the folds.",
        "Press the tissue with a cool dry iron before the next fitting.",
    ),
    Flag(
        "two_cards",
        "Two scale cards are in this photo; the one on the stand was used, or either where both tell the same.",
        "Keep one card only in view.",
    ),
)

FLAGS: dict[str, Flag] = {flag.code: flag for flag in _ALL}
