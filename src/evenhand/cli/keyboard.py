"""Asking somebody at a terminal: a line, or one key. Whatever is asked can be left by Enter, and all of it by Ctrl-D."""

from __future__ import annotations

import sys
from collections.abc import Callable, Mapping

from evenhand.cli.streams import wrapped

SHORT = 40
"""A longer question gets a line of its own, and the answer the next."""


class Left(Exception):
    """The person left the conversation; what was saved is saved."""


def present() -> bool:
    """Whether somebody can be asked."""
    return sys.stdin.isatty()


def line(prompt: str) -> str:
    """One line as typed, without spaces at its ends; '' for Enter alone. `Left` where there is no more."""
    told = wrapped(prompt)
    short = len(told) < SHORT and "\n" not in told
    print(f"{told} " if short else f"{told}\n> ", end="", flush=True)
    typed = sys.stdin.readline()
    if not typed or not _echoes():
        print()
    if not typed:
        raise Left
    return typed.strip()


def _echoes() -> bool:
    """Whether what is typed, Enter included, shows on the screen by itself."""
    try:
        return sys.stdin.isatty() and sys.stdin.fileno() >= 0
    except (OSError, ValueError):
        return False


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
