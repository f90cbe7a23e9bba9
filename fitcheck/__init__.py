"""fitcheck: reads a photographed fitting and says what does not fit, and what to alter first."""

__version__ = "0.1.0"
