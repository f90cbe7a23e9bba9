"""How hard a JPEG was compressed, by its quantisation tables, and how much surer than it is its pixels would seem without knowing."""

from PIL import Image
from PIL.JpegImagePlugin import JpegImageFile

# The sum of the luminance table that ITU-T T.81, annex K.1, gives as an example, and that usual encoders scale: quality 50.
QUALITY_50_SUM = 3688.0
UNNOTICED_STEPS = 0.5  # quality 75, as many programs save: seams were read as in the original
MOST_STEPS = 2.4  # quality 21; at 15 whole seams are taken for others
PX_PER_STEP = 0.8  # of doubt for each table's worth of coarser steps; set on the sample photos saved again


def steps(image: Image.Image) -> float:
    """Coarseness of the brightness steps against quality 50 (finer: less than 1); 0 where the file is no JPEG."""
    tables = image.quantization if isinstance(image, JpegImageFile) else {}
    return sum(tables[0]) / QUALITY_50_SUM if 0 in tables else 0.0


def coarse_px(coarseness: float) -> float:
    """Further standard uncertainty of whatever is seen in a picture of such steps, pixels per axis."""
    return PX_PER_STEP * max(0.0, coarseness - UNNOTICED_STEPS)
