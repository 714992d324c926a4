"""Asking somebody at a terminal: a line, or one key. Whatever is asked can be left by Enter, and all of it by Ctrl-D."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping

from evenhand.cli.streams import wrapped


class Left(Exception):
    """The person left the conversation; what was saved is saved."""


def present() -> bool:
    """Whether somebody can be asked."""
    return sys.stdin.isatty()


def line(prompt: str) -> str:
    """One line as typed, without spaces at its ends; '' for Enter alone. `Left` where there is no more."""
    print(f"{wrapped(prompt)} ", end="", flush=True)
    typed = sys.stdin.readline()
    if not typed:
        print()
        raise Left
    return typed.strip()


def key(prompt: str, keys: Mapping[str, str]) -> str:
    """One keystroke of those offered, '' for Enter; asked again for any other. Off a terminal: the first letter of a line."""
    while True:
        pressed = _one(prompt)
        if pressed in keys or not pressed:
            return pressed
        print(f"Press {', '.join(keys)}, or Enter.")


def _one(prompt: str) -> str:
    raw = _raw()
    if raw is None:
        return line(prompt)[:1].lower()
    print(f"{wrapped(prompt)} ", end="", flush=True)
    pressed = raw()
    if pressed in ("\x03", "\x04", "\x1a"):
        print()
        raise Left
    shown = "" if pressed in ("\r", "\n") else pressed.lower()
    print(shown)
    return shown


def _raw() -> Callable[[], str] | None:
    """A function that reads one key at once; None where the keyboard is none."""
    try:
        handle = sys.stdin.fileno()
        if not sys.stdin.isatty():
            return None
        import termios
        import tty
    except (OSError, ValueError, ImportError):
        return None

    def read() -> str:
        before = termios.tcgetattr(handle)
        try:
            tty.setcbreak(handle)
            return sys.stdin.read(1)
        finally:
            termios.tcsetattr(handle, termios.TCSADRAIN, before)

    return read
