"""A writer that is killed at random moments, again and again; run as a program by test_crash.py.

One process imports everything once and forks a writer per round; the writer acknowledges each change through
a pipe after the call has returned, and is killed (SIGKILL) after a random time. A kill shows what a crash of
the program does; it cannot show what a power cut does.
"""

from __future__ import annotations

import os
import random
import select
import signal
import struct
import sys
import tempfile
import time
from pathlib import Path

from tests.store.making import DAY, T0, Change, beginning, header, intake, stick

from evenhand.errors import EvenhandError
from evenhand.store import blocks, file, health, history

assert blocks
assert health
assert history
assert tempfile


def change(number):
    """Change `number` of every writer: three sticks, a correction, readings, ledger, every seventh a new day."""
    taken = intake(number, 150)
    records = (*taken.records, stick(3 * number), stick(3 * number + 1), stick(0, value=5 + number / 10))
    return Change(f"change {number}", T0 + number // 7 * DAY, records, taken.batches, taken.ledger)


def act(path, number):
    """What the writer does as its change `number`; every fifth takes the one before back."""
    if number % 5 == 0:
        return file.undo(path, number - 1, T0 + number // 7 * DAY).number
    return file.write(path, change(number))


def expected(count):
    """The numbers of the changes with records that hold after `count` changes."""
    return [
        number
        for number in range(2, count + 1)
        if number % 5 and not ((number + 1) % 5 == 0 and number + 1 <= count)
    ]


def writer(path, start, pipe):
    """Writes until it is killed."""
    for number in range(start, 10_000):
        made = act(path, number)
        assert made == number
        os.write(pipe, struct.pack("i", number))


def killed_round(path, start, wait, first):
    """Forks a writer and kills it after `wait` seconds, counted from its first acknowledged change where
    `first`; the last change it acknowledged (start - 1 for none)."""
    there, here = os.pipe()
    child = os.fork()
    if child == 0:
        os.close(there)
        try:
            writer(path, start, here)
        except EvenhandError as error:
            os.write(2, f"writer: {error}\n".encode())
        finally:
            os._exit(1)
    os.close(here)
    if first:
        select.select([there], [], [], 10)
    time.sleep(wait)
    os.kill(child, signal.SIGKILL)
    _, status = os.waitpid(child, 0)
    assert os.WIFSIGNALED(status), "the writer ended by itself"
    data = b""
    while part := os.read(there, 65536):
        data += part
    os.close(there)
    return struct.unpack("i", data[-4:])[0] if data else start - 1


def verify(path, acknowledged):
    """The file is whole and holds the acknowledged changes, and at most the one that was under way."""
    found = file.check(path)
    assert found.sound, found
    trial = file.read(path)
    assert acknowledged <= trial.change <= acknowledged + 1, (acknowledged, trial.change)
    held = expected(trial.change)
    assert [made.id for made in trial.files] == sorted(f"f-{number}" for number in held)
    sticks = {made.id for made in trial.sticks}
    assert sticks == {f"k-{3 * n + more:04d}" for n in held for more in (0, 1)} | (
        {"k-0000"} if held else set()
    )
    if held:
        assert trial.sticks[0].glucose.value == 5 + held[-1] / 10
        assert len(trial.readings["s-fern"]) == 150 * len(held)
        assert len(file.ledger(path)) == 152 * len(held)
    for copy in Path(f"{path}.backups").glob("[!.]*.trial"):
        assert file.check(copy).sound, copy
    return trial.change


def main(folder, rounds, seed):
    """Kills `rounds` writers; prints rounds, changes kept, kills that caught a journal, and unacknowledged."""
    chance = random.Random(seed)
    hot = unacknowledged = kept = 0
    path, count, usual = None, 0, 0.0
    for number in range(rounds):
        if number % 12 == 0:
            path, count = f"{folder}/{number}.trial", 1
            started = time.perf_counter()
            file.create(path, header(), beginning())
            usual = time.perf_counter() - started
        acknowledged = killed_round(path, count + 1, chance.uniform(0.0, 3 * usual), chance.random() < 0.6)
        hot += Path(f"{path}-journal").exists()
        count = verify(path, acknowledged)
        unacknowledged += count > acknowledged
        kept = max(kept, count)
    print(rounds, kept, hot, unacknowledged)


def created(folder, rounds, seed):
    """Kills processes that make a trial file; there is a whole one or none. Prints rounds and whole ones."""
    chance = random.Random(seed)
    first = Change(
        "made", T0, (*beginning().records, *change(2).records), change(2).batches, change(2).ledger
    )
    started = time.perf_counter()
    file.create(f"{folder}/timed.trial", header(), first)
    usual = time.perf_counter() - started
    whole = 0
    for number in range(rounds):
        path = f"{folder}/new {number}.trial"
        child = os.fork()
        if child == 0:
            file.create(path, header(), first)
            os._exit(0)
        time.sleep(chance.uniform(0.0, 2 * usual))
        os.kill(child, signal.SIGKILL)
        os.waitpid(child, 0)
        if Path(path).exists():
            assert file.check(path).sound
            assert len(file.read(path).readings["s-fern"]) == 150
            whole += 1
        else:
            file.create(path, header(), beginning())
            assert file.check(path).sound
    print(rounds, whole)


if __name__ == "__main__":
    {"write": main, "create": created}[sys.argv[1]](sys.argv[2], int(sys.argv[3]), int(sys.argv[4]))
