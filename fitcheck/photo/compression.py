"""How hard a JPEG was compressed, by its quantisation tables, and how much surer than it is its pixels would seem without knowing."""

from PIL import Image
from PIL.JpegImagePlugin import JpegImageFile

# The sum of the luminance table that ITU-T T.81, annex K.1, gives as an example, and that usual encoders scale: quality 50.
QUALITY_50_SUM = 3688.0
UNNOTICED_STEPS = 0.52  # quality 75, as many programs save: seams were read as in the original
MOST_STEPS = 2.4  # quality 21 at the sample photos' size; at 15 whole seams are taken for others
SMALL_PX, MOST_STEPS_SMALL = 1000, 1.0  # short side, and quality 50: at 900 pixels and quality 40 bust marks were 30 mm off
PX_PER_STEP = 2.0  # of doubt for each table's worth of coarser steps; set on three sample fittings saved again


def steps(image: Image.Image) -> float:
    """Coarseness of the brightness steps against quality 50 (finer: less than 1); 0 where the file is no JPEG."""
    tables = image.quantization if isinstance(image, JpegImageFile) else {}
    return sum(tables[0]) / QUALITY_50_SUM if 0 in tables else 0.0


def coarse_px(coarseness: float) -> float:
    """Further standard uncertainty of whatever is seen in a picture of such steps, pixels per axis."""
    return PX_PER_STEP * max(0.0, coarseness - UNNOTICED_STEPS)


def too_hard(coarseness: float, short_side_px: int) -> bool:
    """Whether thin seam lines are lost in a picture of such steps and size."""
    return coarseness > (MOST_STEPS if short_side_px >= SMALL_PX else MOST_STEPS_SMALL)
