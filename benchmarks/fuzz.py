"""Broken and strange files by the hundred thousand: `python -m benchmarks.fuzz [CASES] [FIRST_SEED] [FILE]`.

Each case has a seed of its own, so that any can be made again, and a run can go on where another ended. Nothing but an `EvenhandError`
may come out; the fates sum to the rows; every value kept stands in the file as it was kept; the same bytes give the same reading.
Failures are printed with their seed; the last line counts what was seen.
"""

from __future__ import annotations

import itertools
import random
import re
import sys
import time
import traceback
from collections import Counter
from collections.abc import Iterator

from evenhand.clock import ZoneOrigin
from evenhand.errors import EvenhandError
from evenhand.intake.proposal import Proposal
from evenhand.intake.propose import propose
from evenhand.records.diary import Stick
from evenhand.records.sensors import Sensor
from evenhand.records.trial import Header, Trial
from evenhand.units import Unit

NOW = 1_780_315_200
ZONES = ("Europe/Berlin", "Australia/Lord_Howe", "America/St_Johns", "Asia/Kolkata", "America/Santiago")
ENCODINGS = ("utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252", "shift_jis")
WORDS = (
    "", " ", "110", "6.1", "6,1", "LOW", "hoch", "<40", "2026-03-01 07:42", "01/03/2026", "31.03.2026", "07:42", "7:42 PM", "Time", "Glucose",
    "mg/dL", "mmol/L", "Fern", "Slate", "meter", "Type", "Reading", "Fingerstick", "Calibration", "note", 'a "b"', "x;y", "1772347320", "46082.5",
    "2026-03-01T07:42:00+01:00", "2026-03-29 02:30", "2025-10-26 02:30", "nan", "1e9", "-", "n/a", "\u00a0", "日時", "9" * 30, "0", "1904-01-01",
    "99.99.9999", "25:61", "Unit", "Reason", "habit", "=1+1", "٣", "𝟙", "½", "²", "①.1", "2026-02-30", "[", "{", '{"time": 1}', "Tue 07:42 6.1 alarm",
    "0001-01-01 00:00", "9999-12-31 23:59", "-1", "+5", "1.234,5", "1,234.5", "0.0", "1e-400", "∞", "\ufeff", "\x1c", "\u2028", "6.1mmol/L", "110 mg/dL",
)  # fmt: skip
_NUMBER = re.compile(r"\d+(?:[.,]\d+)?")


def a_trial(zone: str) -> Trial:
    """Two sensors and a meter."""
    header = Header("t", "Trial", zone, ZoneOrigin.GIVEN, Unit.MG_DL, "Kitchen", 1, 0)
    return Trial(header, (Sensor("s1", "Fern", 0), Sensor("s2", "Slate", 1)))


def case(seed: int) -> tuple[bytes, str | None, str, dict[str, str]]:
    """Bytes, whose they are said to be, the trial's zone and settings; always the same for a seed."""
    chance = random.Random(seed)
    kind = chance.randrange(10)
    data = _bytes(chance) if kind == 0 else _words(chance) if kind < 5 else _broken(chance)
    said = {}
    if chance.random() < 0.1:
        said[chance.choice(("order", "unit", "zone", "shift", "decimal", "time", "value", "header"))] = chance.choice(
            ("day-month", "mg/dL", "+05:30", "-57min", "comma", "Time", "Glucose", "1", "no", "+1d@2026-03-01..", "x")
        )  # fmt: skip
    return data, chance.choice((None, "Fern", "meter")), chance.choice(ZONES), said


def _bytes(chance: random.Random) -> bytes:
    return chance.randbytes(chance.randint(0, 300))


def _words(chance: random.Random) -> bytes:
    mark, end = chance.choice((",", ";", "\t", "|", " ")), chance.choice(("\n", "\r\n", "\r"))
    width = chance.randint(1, 6)
    rows = [
        mark.join(chance.choice(WORDS) for _ in range(max(1, width + chance.choice((0, 0, 0, 0, -1, 1)))))
        for _ in range(chance.randint(1, 12))
    ]
    return end.join(rows).encode(chance.choice(ENCODINGS), "replace")


def good(chance: random.Random) -> str:
    """A good table: a sensor's or a meter's, with or without notes and kinds."""
    mark = chance.choice((",", ";", "\t"))
    comma = mark != "," and chance.random() < 0.5
    form = chance.choice(
        (
            "{y}-{m:02}-{d:02} {h:02}:{i:02}",
            "{d:02}.{m:02}.{y} {h:02}:{i:02}:00",
            "{m}/{d}/{y} {h:02}:{i:02}",
            "{y}-{m:02}-{d:02}T{h:02}:{i:02}:00Z",
        )
    )
    mmol = chance.random() < 0.5
    head = ["Time", f"Glucose {'mmol/L' if mmol else 'mg/dL'}", "Note", "Type"][: chance.randint(2, 4)]
    lines = [mark.join(head)]
    day, month = chance.randint(1, 28), chance.choice((3, 10, 4, 11, 2))
    for number in range(chance.randint(2, 25)):
        minutes = 5 * number + chance.randrange(2)
        when = form.format(
            y=2026 if month < 5 else 2025,
            m=month,
            d=day,
            h=(chance.randrange(24) if chance.random() < 0.05 else (2 + minutes // 60) % 24),
            i=minutes % 60,
        )
        value = f"{chance.uniform(2.5, 20):.1f}" if mmol else str(chance.randint(40, 400))
        row = [when, value.replace(".", ",") if comma else value, chance.choice(("", "felt fine")), "Reading"]
        lines.append(mark.join(row[: len(head)]))
    return chance.choice(("\n", "\r\n")).join(lines) + "\n"


def _broken(chance: random.Random) -> bytes:
    data = bytearray(good(chance).encode(chance.choice(ENCODINGS), "replace"))
    for _ in range(chance.randint(0, 6)):
        at = chance.randrange(len(data)) if data else 0
        change = chance.randrange(4)
        if change == 0 and data:
            data[at] = chance.randrange(256)
        elif change == 1:
            del data[at : at + chance.randint(1, 25)]
        elif change == 2:
            data[at:at] = data[at : at + chance.randint(1, 60)]
        else:
            data[at:at] = chance.choice(WORDS).encode("utf-8", "replace")
    return bytes(data)


def check(seed: int) -> str:
    """What became of a case: the code of an error, 'asked' or 'read'. Raises where a promise is broken."""
    data, of, zone, said = case(seed)

    def once() -> Proposal:
        return propose(data, "a.csv", a_trial(zone), of, said, (f"i{n}" for n in itertools.count()), NOW)

    try:
        found = once()
    except EvenhandError as error:
        _says_something(error)
        return error.code
    assert found.rows == sum(found.counts.values()) == len(found.ledger), "fates do not sum"
    assert len({(row.sheet, row.line) for row in found.ledger}) == found.rows, "two fates for a row"
    assert found.change is None or not found.questions, "written with a question open"
    if seed % 20 == 0:
        assert once().to_json() == found.to_json(), "read otherwise the second time"
    if found.change is not None:
        _values_stand(found, data)
    return "asked" if found.questions else "read"


def _says_something(error: EvenhandError) -> None:
    assert error.found, "an error that says nothing"
    assert error.cure, "an error without a cure"


def _values_stand(found: Proposal, data: bytes) -> None:
    """Every value kept is a number as its text states it, and its digits stand in the file."""
    assert found.change is not None
    plain = data.replace(b"\0", b"")
    texts = [
        (text, float(value), int(flag))
        for batch in found.change.batches
        for text, value, flag in zip(
            batch.readings.text, batch.readings.value, batch.readings.flag, strict=True
        )
    ]
    texts += [
        (record.glucose.text, record.glucose.value, int(record.glucose.beyond is not None))
        for record in found.change.records
        if isinstance(record, Stick)
    ]
    for text, value, flag in texts:
        digits = _NUMBER.findall(text)
        if flag or len(digits) != 1 or not text.isascii():
            continue
        assert digits[0].encode() in plain, f"{text!r} does not stand in the file"
        assert abs(float(digits[0].replace(",", ".")) - value) < 1e-9, f"{text!r} became {value}"


def run(first: int, cases: int) -> tuple[Counter[str], list[int]]:
    """Outcomes of cases from a seed on, and the seeds that failed."""
    seen: Counter[str] = Counter()
    failed = []
    for seed in range(first, first + cases):
        try:
            seen[check(seed)] += 1
        except Exception:  # noqa: BLE001
            failed.append(seed)
            if len(failed) <= 10:
                print(f"seed {seed}:\n{traceback.format_exc(limit=-3)}", flush=True)
    return seen, failed


def chunks(first: int, cases: int, each: int = 5_000) -> Iterator[tuple[int, int]]:
    """Seeds in chunks."""
    for start in range(first, first + cases, each):
        yield start, min(each, first + cases - start)


def main() -> None:
    """Run, printing after each chunk the seed a new run could begin with."""
    cases = int(sys.argv[1]) if len(sys.argv) > 1 else 200_000
    first = int(sys.argv[2]) if len(sys.argv) > 2 else 0
    seen: Counter[str] = Counter()
    failed: list[int] = []
    begun = time.perf_counter()
    for start, many in chunks(first, cases):
        more, bad = run(start, many)
        seen += more
        failed += bad
        print(
            f"up to seed {start + many - 1}: {dict(seen)}, failed {len(failed)}, {time.perf_counter() - begun:.0f} s",
            flush=True,
        )
    print(f"{sum(seen.values()) + len(failed)} cases from seed {first}: {len(failed)} failed {failed[:20]}")
    sys.exit(1 if failed else 0)


if __name__ == "__main__":
    main()
