"""`python -m fitcheck`."""

from fitcheck.cli import app

app()
