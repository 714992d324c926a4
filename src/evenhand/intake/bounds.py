"""How large a file may be; beyond any of these it is refused with the reason, before it can harm."""

from __future__ import annotations

MAX_BYTES = 200 * 1024 * 1024
"""Bytes of a file. Ten years of readings every minute are about 200 MB."""

MAX_UNPACKED = 1024 * 1024 * 1024
"""Bytes a spreadsheet may unpack to, all parts together."""

MAX_RATIO = 200
"""How many times its packed size a part of a spreadsheet over 10 MB may unpack to (common texts stay below 30)."""

MAX_PARTS = 2_000
"""Parts (files) within one spreadsheet."""

MAX_ROWS = 5_000_000
"""Rows of all tables of a file together."""

MAX_COLUMNS = 2_000
"""Columns of one table."""

MAX_CELLS = 50_000_000
"""Rows times columns of one sheet of a spreadsheet."""

MAX_LINE = 1_000_000
"""Characters of one line of a text file."""

MAX_LINES_IN_CELL = 50
"""Lines one quoted cell may span; beyond it the quote is taken as one that was never closed."""

MAX_JSON = 100 * 1024 * 1024
"""Characters of a JSON text; it takes several times as much memory as a table."""

MAX_DEEP = 40
"""How deep lists and objects of a JSON text may be nested."""

MAX_JOTTED = 5_000
"""Lines of a text file that may be jotted ones; a longer file is a table or nothing."""
