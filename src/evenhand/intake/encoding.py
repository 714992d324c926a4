"""Bytes to text: byte-order mark, then the pattern of zero bytes, then strict UTF-8, then a few 8-bit encodings."""

from __future__ import annotations

import codecs
from dataclasses import dataclass

from charset_normalizer import from_bytes

from evenhand.errors import BadFile, Place, UnknownName

_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
CANDIDATES = (
    "cp1252",
    "cp1250",
    "cp1251",
    "cp1253",
    "cp1254",
    "shift_jis",
    "cp932",
    "iso8859_15",
    "mac_roman",
)
"""Encodings that are guessed where a text is not Unicode; unrestricted guessing is often wrong on short tables."""

_SAMPLE = 200_000


@dataclass(frozen=True, slots=True)
class Decoded:
    """A text, the encoding it was read in, and how that was found (a sentence)."""

    text: str
    encoding: str
    evidence: str


def decode(data: bytes, name: str, encoding: str | None = None) -> Decoded:
    """The text of a file; `encoding` is what the person says it is, None: found out.

    Raises `BadFile` where the bytes are no text in it, `UnknownName` where there is no such encoding.

    >>> decode(b"Zeit;Wert\\r\\n", "a.csv").encoding
    'utf-8'
    >>> decode("Zeit;Wert".encode("utf-16-le"), "a.csv").evidence
    'every other byte is zero, as in UTF-16'
    """
    if encoding is not None:
        return _said(data, name, encoding)
    for mark, named in _MARKS:
        if data.startswith(mark):
            return _strict(data[len(mark) :], name, named, "it begins with a byte-order mark")
    wide = _zero_pattern(data)
    if wide is not None:
        return _strict(data, name, wide, "every other byte is zero, as in UTF-16")
    try:
        return Decoded(data.decode("utf-8"), "utf-8", "every byte fits UTF-8")
    except UnicodeDecodeError:
        return _guessed(data, name)


def _said(data: bytes, name: str, encoding: str) -> Decoded:
    try:
        codec = codecs.lookup(encoding)
        text = data.decode(codec.name)
    except (LookupError, ValueError) as error:
        if isinstance(error, UnicodeDecodeError):
            raise _unreadable(data, error.start, name, encoding) from None
        raise UnknownName(
            f"'{encoding}' is not a text encoding.",
            "Write for example --set encoding=utf-8 or encoding=cp1252.",
        ) from None
    return Decoded(text.removeprefix("\ufeff"), codec.name, "you said so")


def _strict(data: bytes, name: str, encoding: str, evidence: str) -> Decoded:
    try:
        return Decoded(data.decode(encoding), encoding, evidence)
    except UnicodeDecodeError as error:
        raise _unreadable(data, error.start, name, encoding) from None


def _unreadable(data: bytes, at: int, name: str, encoding: str) -> BadFile:
    line = data[:at].count(b"\n") + 1
    return BadFile(
        f"The file is not readable as {encoding}: byte {at + 1} does not fit.",
        "It may be cut off or damaged; export it again, or give the encoding with --set encoding=.",
        Place(file=name, line=line),
    )


def _zero_pattern(data: bytes) -> str | None:
    """UTF-16 without a mark: zeros stand (nearly) only at odd places (little-endian) or at even ones."""
    sample = data[:_SAMPLE]
    if len(sample) < 4 or b"\0" not in sample:
        return None
    even, odd = sample[0::2].count(0), sample[1::2].count(0)
    half = len(sample) // 2
    if odd > 0.4 * half and even < 0.05 * half:
        return "utf-16-le"
    if even > 0.4 * half and odd < 0.05 * half:
        return "utf-16-be"
    return None


def _guessed(data: bytes, name: str) -> Decoded:
    # Only lines with bytes beyond ASCII tell encodings apart; a table is mostly digits.
    telling = b"\n".join(line for line in data.splitlines() if not line.isascii())[:_SAMPLE]
    found = from_bytes(telling, cp_isolation=list(CANDIDATES), enable_fallback=False).best()
    for encoding in (found.encoding if found else "", "cp1252", "iso8859_1"):
        try:
            text = data.decode(encoding) if encoding else None
        except UnicodeDecodeError:
            continue
        if text is not None:
            return Decoded(text, encoding, "it is not UTF-8, and its letters make the most sense so")
    raise BadFile("The file is not text.", "Export it as CSV or XLSX.", Place(file=name))
