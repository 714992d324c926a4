"""Asking somebody: a line, one key, and leaving."""

import os
import pty
import sys
import threading

import pytest
from tests.cli.typing_in import typed

from evenhand.cli import keyboard


def test_a_line_is_what_was_typed(monkeypatch, capsys):
    """Without spaces at its ends; Enter alone is nothing; the end of it all is leaving."""
    typed(monkeypatch, "  02:10 4.1 ", "")
    assert keyboard.line("Sticks?") == "02:10 4.1"
    assert keyboard.line("More?") == ""
    with pytest.raises(keyboard.Left):
        keyboard.line("Still?")
    assert capsys.readouterr().out == "Sticks? \nMore? \nStill? \n"


def test_a_key_is_asked_again_until_it_is_one_of_those_offered(monkeypatch, capsys):
    """Off a real keyboard the first letter of a line counts, in small letters."""
    typed(monkeypatch, "x", "Habit", "")
    assert keyboard.key("Why?", {"h": "habit", "p": "plan"}) == "h"
    assert "Press h, p, or Enter." in capsys.readouterr().out
    assert keyboard.key("Why?", {"h": "habit"}) == ""


def test_present_is_a_terminal(monkeypatch):
    """Only where somebody can answer is anything asked of its own accord."""
    typed(monkeypatch)
    assert keyboard.present()
    typed(monkeypatch, terminal=False)
    assert not keyboard.present()


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals there")
@pytest.mark.parametrize(("pressed", "told"), [("h", "h"), ("H", "h"), ("\n", "")])
def test_on_a_real_terminal_one_keystroke_is_enough(monkeypatch, pressed, told):
    """No Enter after it; and the terminal is as it was before."""
    import termios

    master, slave = pty.openpty()
    before = termios.tcgetattr(slave)
    with os.fdopen(slave, "r") as terminal:
        monkeypatch.setattr(sys, "stdin", terminal)
        timer = threading.Timer(0.1, os.write, (master, pressed.encode()))
        timer.start()
        assert keyboard.key("Why?", {"h": "habit"}) == told
        timer.join()
        assert termios.tcgetattr(terminal.fileno())[3] == before[3]
    os.close(master)


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals there")
def test_ctrl_d_on_a_real_terminal_leaves(monkeypatch):
    """As it does where a whole line is asked."""
    master, slave = pty.openpty()
    with os.fdopen(slave, "r") as terminal:
        monkeypatch.setattr(sys, "stdin", terminal)
        timer = threading.Timer(0.1, os.write, (master, b"\x04"))
        timer.start()
        with pytest.raises(keyboard.Left):
            keyboard.key("Why?", {"h": "habit"})
        timer.join()
    os.close(master)
