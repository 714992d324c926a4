"""A whole trial of three weeks, played from the evening of the idea to the opened answer, through the ordinary commands.

`make demo-trial` plays it into a folder and prints what its wearer reads; `test_three_weeks.py` holds what it says. All of
it is invented: two sensors, a wearer in Lisbon who travels to Helsinki over the clock change, is ill for a day, tears a
sensor off, has one fail, and replaces both. Nothing is written into the trial but by commands, each at its own moment.
"""

from __future__ import annotations

import contextlib
import hashlib
import heapq
import io
import sys
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np

from evenhand.cli.main import COMMANDS, main
from evenhand.clock import DAY, HOUR, MINUTE, Stamp, Trip, Zones
from evenhand.desk.now import Now
from evenhand.records.sensors import Ending
from evenhand.rehearse.files import comma_export
from evenhand.rehearse.invent import invent
from evenhand.rehearse.world import Kind, Meter, Model, Planned, World
from evenhand.store import file as store
from evenhand.units import Unit

HOME, AWAY = "Europe/Lisbon", "Europe/Helsinki"
SEED = 12
DAYS = 21
WORLD = World(
    name="three weeks",
    days=DAYS,
    sensors=(
        Model("Fern", Kind().times(0.7), warm_up=60, unit=Unit.MMOL_L, life=10.5, price=58.0),
        Model("Slate", Kind().times(1.3), warm_up=30, unit=Unit.MMOL_L, life=10.0, price=46.0),
    ),
    meter=Meter("bathroom meter", sd=0.04, unit=Unit.MMOL_L),
    unit=Unit.MMOL_L,
    plan=(
        (Planned(0.1, 10.4), Planned(10.5, 10.5)),
        (Planned(0.0, 5.3, Ending.ACCIDENT), Planned(5.4, 9.6, replaces=True), Planned(15.0, 2.2, Ending.FAILED), Planned(17.25, 3.75, replaces=True)),
    ),
    notes=False,
    zone=HOME,
    start="2026-03-14T09:00",
)  # fmt: skip
ILL = (12 * DAY, 13 * DAY)
TRIP = (13 * DAY + 5 * HOUR, 17 * DAY + 4 * HOUR)
"""Seconds after the start: 26 March; 27 March 14:00 to 31 March."""

CONVERSATION = (
    "20", "0.3", "Fern: works with my pump", "reads on my watch", "", "pump Fern", "none", "07:00-23:00",
    "08:10-08:40, 17:30-18:00", "200", "0.6", "300", "L2207", "-", "1",
)  # fmt: skip
"""The evening of the idea, answered at the keyboard."""


class Then(Now):
    """A clock that the play moves; ids and entropy from the seed; the zone is given."""

    def __init__(self, instant: int) -> None:
        self.now = instant
        self.drawn = 0

    def instant(self) -> int:
        return self.now

    def ticks(self) -> float:
        return 0.0

    def entropy(self, size: int) -> bytes:
        self.drawn += 1
        return hashlib.shake_256(f"three weeks {SEED} {self.drawn}".encode()).digest(size)

    def computer_zone(self) -> str | None:
        return HOME


class Typed(io.StringIO):
    """Somebody at the keyboard."""

    def isatty(self) -> bool:
        return True


@dataclass(frozen=True)
class Said:
    """A command at its moment, its exit code, and what it said."""

    at: str
    words: tuple[str, ...]
    code: int
    out: str
    err: str

    @property
    def flat(self) -> str:
        return " ".join(self.out.split())


@dataclass
class Play:
    """The play as it goes: the folder, the clock, everything said, and who listens."""

    folder: Path
    listen: Callable[[Said], None]
    now: Then
    said: list[Said] = field(default_factory=list)
    ahead: list[tuple[int, int, int, Callable[[int], None]]] = field(default_factory=list)
    pricked: list[int] = field(default_factory=list)
    counted: int = 0

    def will(self, at: int, rank: int, act: Callable[[int], None]) -> None:
        """Something that happens at a moment; of two at once the lower rank first."""
        self.counted += 1
        heapq.heappush(self.ahead, (at, rank, self.counted, act))

    @property
    def trial(self) -> str:
        return str(self.folder / "spring.trial")

    def __call__(
        self, at: int, command: str, *words: str, typed: tuple[str, ...] | None = None, code: int = 0
    ) -> Said:
        """Run a command at a moment, with what is typed at the keyboard."""
        self.now.now = max(self.now.now, at)
        out, err, before = io.StringIO(), io.StringIO(), sys.stdin
        sys.stdin = Typed("".join(f"{line}\n" for line in typed)) if typed is not None else io.StringIO()
        try:
            with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
                got = main((command, self.trial, *words), self.now)
        finally:
            sys.stdin = before
        said = Said(zones().stamp(self.now.now).iso, (command, *words), got, out.getvalue(), err.getvalue())
        self.said.append(said)
        self.listen(said)
        if got != code:
            raise AssertionError(f"{said.words} at {said.at}: exit code {got}\n{said.err}{said.out}")
        return said

    def of(self, command: str) -> list[Said]:
        """Everything that a command said."""
        return [said for said in self.said if said.words[0] == command]


INVENTED = invent(WORLD, SEED)
START = int(INVENTED.truth.at[0])


def zones() -> Zones:
    """Where the wearer is."""
    return Zones(HOME, (Trip(START + TRIP[0], START + TRIP[1], AWAY),))


def wall(instant: int) -> str:
    """The time as the wearer would write it, with the offset that leaves nothing open."""
    return zones().stamp(instant).iso


def glucose(instant: int) -> str:
    """What this meter shows at a moment: blood with the meter's own scatter, as it prints it."""
    rng = np.random.default_rng([SEED, instant])
    blood = float(INVENTED.truth.blood_at(np.array([instant]))[0]) / 18.0156
    return f"{max(blood * (1 + 0.04 * rng.standard_normal()), 1.2):.1f}"


def play(folder: Path, listen: Callable[[Said], None] = lambda said: None, until: int | None = None) -> Play:
    """The whole of it; or up to a moment, without the answer."""
    folder.mkdir(parents=True, exist_ok=True)
    made = Play(folder, listen, Then(START - 13 * HOUR))
    evening(made)
    for happening in (*wears(made), *days(made), *mornings(made), *weeks(made), *life(made)):
        made.will(*happening)
    while made.ahead:
        at, _, _, act = heapq.heappop(made.ahead)
        if until is not None and at > until:
            return made
        act(at)
    answer(made)
    return made


Happening = tuple[int, int, Callable[[int], None]]


def evening(made: Play) -> None:
    """20:00: the trial, the question, the meter tried, the plan, the declaration and its fingerprint."""
    at = START - 13 * HOUR
    settings = [word for one in SETTINGS for word in ("--set", one)]
    made(
        at,
        "new",
        "--sensor",
        "Fern",
        "--sensor",
        "Slate",
        "--unit",
        "mmol/L",
        "--zone",
        HOME,
        "--meter",
        "bathroom meter",
        *settings,
    )
    made(at + 60, "declare", typed=CONVERSATION)
    for device in ("Fern", "Slate", "meter"):
        made(at + 600, "note", "exported", "of the old sensor, as a proof", "--of", device)
        made(at + 700, "note", "clock", f"{zones().stamp(at + 700).wall:%H:%M}", "--of", device)
    made(at + 800, "stick", "6.9", "--mark", "control", "--lot", "L2207")
    if "plan" in {name for name, *_ in COMMANDS}:
        start = f"{zones().stamp(START).wall:%Y-%m-%d %H:%M}"
        made(
            at + 900,
            "plan",
            "--set",
            f"start={start}",
            "--set",
            f"days={DAYS}",
            "--set",
            "sticks=6",
            "--calendar",
            str(made.folder / "spring.ics"),
        )
    made(at + 1200, "declare", "--yes")
    made(at + 1260, "declare", "--check", str(made.folder / "spring.declaration.txt"))


SETTINGS = (
    "Fern.interval=5min", "Fern.warm_up=1h", "Fern.life=10d", "Fern.grace=12h", "Fern.counts_from=start", "Fern.low=2.2", "Fern.high=22.2",
    "Fern.price=58", "Fern.exports=yes", "Slate.interval=5min", "Slate.warm_up=30min", "Slate.life=10d", "Slate.grace=0",
    "Slate.counts_from=start", "Slate.low=2.2", "Slate.high=22.2", "Slate.price=46", "Slate.exports=yes",
)  # fmt: skip


def wears(made: Play) -> list[Happening]:
    """Sensors go in and come off when the world says so; a torn-off and a failed one get their claim sheets."""
    names = {sensor.id: sensor.name for sensor in INVENTED.trial.sensors}
    by_id = {wear.id: wear for wear in INVENTED.trial.wears}
    found: list[Happening] = []
    for number, wear in enumerate(INVENTED.trial.wears):
        name, first = names[wear.sensor], wear.first
        begun = by_id[wear.replaces].first.instant if wear.replaces else None

        def insert(at: int, name=name, first=first, number=number, begun=begun) -> None:  # type: ignore[no-untyped-def]
            more = ("--replaces", wall(begun)) if begun is not None else ()
            side = "left" if number % 2 else "right"
            words = (
                "--inserted",
                wall(first.instant),
                "--lot",
                f"K{number % 3 + 1}",
                "--serial",
                f"SN-00{number}7",
                "--side",
                side,
            )
            made(at, "wear", "--sensor", name, *words, *more)

        def remove(at: int, name=name, wear=wear, number=number) -> None:  # type: ignore[no-untyped-def]
            ending = str(wear.ending)
            export(made, at, name)
            said = made(
                at + 60,
                "wear",
                "--sensor",
                name,
                "--inserted",
                wall(wear.first.instant),
                "--removed",
                wall(at),
                "--ending",
                ending,
            )
            if wear.ending in (Ending.ACCIDENT, Ending.FAILED):
                assert "--claim claim.html" in said.flat
                sheet = made.folder / f"claim-{name.lower()}-{number}.html"
                made(
                    at + 120,
                    "wear",
                    "--sensor",
                    name,
                    "--inserted",
                    wall(wear.first.instant),
                    "--claim",
                    str(sheet),
                )
                departure(made, at + 180, name, wear.ending)

        found.append((first.instant + 60, 1, insert))
        assert wear.removed is not None
        found.append((wear.removed.instant, 0, remove))
    return found


def departure(made: Play, at: int, name: str, ending: Ending | None) -> None:
    """What went otherwise than planned is written down with its reason, and what lies ahead planned anew."""
    why = "caught on a door frame" if ending is Ending.ACCIDENT else "it stopped reading"
    made(at, "declare", "--set", f"other={name} replaced before its time", "--why", why)
    if "plan" in {known for known, *_ in COMMANDS}:
        made(at + 30, "plan", "--again")


def drawn(made: Play) -> list[int]:
    """The planned minutes: the plan's, where one is drawn; else one in each of six waking slots of the day."""
    plan = store.read(made.trial, readings=False).plan
    if plan.drawn is not None:
        return list(plan.drawn.minutes)
    rng = np.random.default_rng(SEED)
    found = []
    for day in range(DAYS):
        for slot in range(6):
            at = START + day * DAY - 2 * HOUR + int((slot + rng.random()) * 16 / 6 * HOUR)
            found.append(at - at % MINUTE)
    return found


def ill(at: int) -> bool:
    return START + ILL[0] <= at < START + ILL[1]


def in_meter(at: int) -> bool:
    """The second week's sticks stay in the meter until its file is taken in."""
    return START + 7 * DAY <= at < START + 12 * DAY


def days(made: Play) -> list[Happening]:
    """Each day's planned sticks, as the plan has them that morning; on the sick day none. In the second week they stay in
    the meter. A low has its line and nothing after it."""

    def prick(at: int) -> None:
        if ill(at):
            return
        made.pricked.append(at)
        if in_meter(at):
            return
        said = made(at, "stick", glucose(at), "--reason", "plan")
        if float(glucose(at)) < 3.9:
            assert said.out.splitlines()[-1].startswith(("Treat first.", "Serious low."))

    def morning(at: int) -> None:
        for minute in drawn(made):
            if at <= minute < at + DAY and START + 2 * HOUR <= minute < START + DAYS * DAY:
                made.will(minute, 2, prick)

    return [(START + day * DAY - 5 * HOUR, 0, morning) for day in range(DAYS + 1)]


def mornings(made: Play) -> list[Happening]:
    """Four mornings at the keyboard: the night's sticks, an alarm, the sensor slept on."""

    def round_(at: int) -> None:
        night = at - at % DAY
        lines = [
            f"{zones().stamp(night + 2 * HOUR + 600).wall:%H:%M} {glucose(night + 2 * HOUR + 600)} alarm"
        ]
        low = float(glucose(night + 2 * HOUR + 600)) < 3.9
        screens = () if low else ("-",)
        made(
            at,
            "stick",
            typed=(
                *lines,
                *screens,
                "",
                "Slate 02:05 low wrong",
                "",
                "Slate 01:30-03:00",
                "",
                "",
                "",
                "",
                "",
                "",
            ),
        )

    return [(START + day * DAY - HOUR - 20 * MINUTE, 3, round_) for day in (2, 4, 9, 11)]


def weeks(made: Play) -> list[Happening]:
    """Every week: what each clock shows, and every device exported."""

    def week(at: int) -> None:
        for name in ("Fern", "Slate"):
            export(made, at, name)
        if at < START + 13 * DAY:
            meter_file(made, at + 300)
        for device, off in (("Fern", 0), ("Slate", 60), ("meter", -120)):
            shown = zones().stamp(at + 600 + off).wall
            made(at + 600, "note", "clock", f"{shown:%H:%M}", "--of", device)

    return [(START + day * DAY + 11 * HOUR, 4, week) for day in (6, 11, 18)]


def life(made: Play) -> list[Happening]:
    """A day in bed, a journey over the clock change, a phone left at home, and somebody who cannot wait."""

    def sick(at: int) -> None:
        assert "no trial task" in made(at, "note", "ill", "fever").flat

    def well(at: int) -> None:
        made(at, "note", "ill", "--to", "now")

    def away(at: int) -> None:
        made(at, "note", "trip", AWAY, "--clocks", "Slate")

    def home(at: int) -> None:
        made(at, "note", "trip", HOME)

    def curious(at: int) -> None:
        sealed = made(at, "judge")
        assert "stays sealed until 4 April 2026" in sealed.flat
        made(at + 60, "report", "--out", str(made.folder / "sealed.html"))

    return [
        (START + ILL[0], 1, sick), (START + ILL[1], 1, well), (START + TRIP[0], 1, away), (START + TRIP[1], 1, home),
        (START + 10 * DAY + 12 * HOUR, 5, curious),
    ]  # fmt: skip


def export(made: Play, at: int, name: str) -> None:
    """A sensor's file as it is on that day, taken in: Fern's with offsets; Slate's in the phone's local time."""
    sensor = INVENTED.trial.sensor(name)
    held = INVENTED.trial.readings[sensor.id]
    chosen = np.flatnonzero((held.instant <= at) & (held.instant > at - 14 * DAY))
    if not chosen.size:
        return
    part = replace(
        held, instant=held.instant[chosen], offset=held.offset[chosen], value=held.value[chosen], mmol=held.mmol[chosen],
        flag=held.flag[chosen], line=held.line[chosen], text=tuple(held.text[int(place)] for place in chosen),
    )  # fmt: skip
    path = made.folder / f"{name.lower()}-{zones().stamp(at).wall:%m%d-%H%M}.csv"
    path.write_text(comma_export(part, sensor) if name == "Fern" else _local(part), encoding="utf-8")
    made(at + 10, "intake", str(path), "--of", name, "--yes")


def _local(part) -> str:  # type: ignore[no-untyped-def]
    """Semicolons, decimal commas, the phone's local time without a zone."""
    rows = [
        f"{zones().stamp(int(at)).wall:%d.%m.%Y %H:%M:%S};{text.replace('.', ',')}"
        for at, text in zip(part.instant, part.text, strict=True)
    ]
    return "Day and time;Glucose mmol/L\r\n" + "\r\n".join(rows) + "\r\n"


def meter_file(made: Play, at: int) -> None:
    """The meter's memory so far: what was typed already, and the second week, with the reason in a column."""
    rows = [one for one in made.pricked if one < at]
    lines = [f"{Stamp.at(one, HOME).wall:%Y-%m-%d %H:%M}\t{glucose(one)}\tplan" for one in reversed(rows)]
    path = made.folder / f"meter-{zones().stamp(at).wall:%m%d}.tsv"
    path.write_text("Taken at\tResult mmol/L\tWhy\n" + "\n".join(lines) + "\n", encoding="utf-8")
    made(at, "intake", str(path), "--of", "meter", "--yes")


def answer(made: Play) -> None:
    """The last exports; on the declared end the answer opens by itself."""
    at = START + DAYS * DAY - 2 * HOUR
    for name in ("Fern", "Slate"):
        export(made, at, name)
    end = store.read(made.trial, readings=False).question.end
    assert end is not None
    made(end.instant + 60, "judge")
    made(end.instant + 120, "judge", "--json")
    made(end.instant + 180, "report")


def tell(said: Said) -> None:
    """The play as its wearer reads it: the command, then what it said."""
    print(
        f"\n{said.at[:16].replace('T', ' ')}  evenhand {' '.join(Path(word).name if '/' in word and word.startswith('/') else word for word in said.words)}"
    )
    lines = (said.out + said.err).rstrip().splitlines()
    shown = (
        lines if said.words[0] in ("declare", "judge", "plan") or len(lines) <= 12 else [*lines[:8], "..."]
    )
    if "--json" not in said.words:
        print("\n".join(shown))


if __name__ == "__main__":
    played = play(Path(sys.argv[1] if len(sys.argv) > 1 else "demo-trial"), tell)
    print(f"\n{len(played.said)} commands. Report: {played.folder / 'spring.html'}")
