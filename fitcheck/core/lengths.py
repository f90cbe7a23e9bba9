"""Units of length that a person may write."""

MM_PER_INCH = 25.4  # exact by definition (international yard and pound agreement, 1959)
MM_PER_UNIT = {"mm": 1.0, "cm": 10.0, "in": MM_PER_INCH}
