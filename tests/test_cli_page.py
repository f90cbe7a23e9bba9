"""The command that opens the page: what it hands on, and what it says."""

from pathlib import Path

from typer.testing import CliRunner

from fitcheck.cli import app
from fitcheck.web import serve


def test_the_page_is_served_for_the_named_diary_and_its_address_is_said(monkeypatch, tmp_path):
    given = []

    def served(folder: Path, port: int, browser: bool, told) -> None:
        given.append((folder, port, browser))
        told("http://127.0.0.1:8123/?once=abc")

    monkeypatch.setattr(serve, "serve", served)
    result = CliRunner().invoke(app, ["open", "--no-browser", "--port", "8123", "--diary", str(tmp_path / "diary")])
    assert result.exit_code == 0, result.output
    assert given == [(tmp_path / "diary", 8123, False)]
    assert "\nhttp://127.0.0.1:8123/?once=abc\n" in result.output


def test_a_port_that_cannot_be_is_a_fault_of_the_option():
    result = CliRunner().invoke(app, ["open", "--port", "65536"])
    assert result.exit_code == 2
    assert "--port" in result.stderr
