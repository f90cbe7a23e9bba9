"""fitcheck: reads a photographed fitting and says what does not fit, and what to alter first."""

import os

# Its matrices are small: further threads of numpy's algebra only wait for each other, for seconds when the computer is busy.
# They are set up when numpy is first imported.
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

__version__ = "0.1.0"
