"""`evenhand new`."""

from pathlib import Path

import pytest
from tests.desk.frozen import Frozen

from evenhand.clock import ZoneOrigin
from evenhand.store import file as store
from evenhand.units import Unit


def test_a_trial_is_made_and_said_back(desk):
    """Everything that was settled is said: unit, zone, meter, what is known of each sensor."""
    said = desk.done(
        "new", "spring.trial", "--sensor", "Fern", "--sensor", "Slate", "--unit", "mmol/l", "--zone", "Europe/Oslo",
        "--meter", "Kitchen", "--set", "Fern.warm_up=1h", "--set", "Fern.low=2.2", "--set", "Slate.exports=no",
    )  # fmt: skip
    assert "Made spring.trial: unit mmol/L, zone Europe/Oslo, meter 'Kitchen'." in said.flat
    assert "Fern: warm-up 1 h, reads from 2.2 mmol/L" in said.flat
    assert "Slate: readings can not be exported" in said.flat
    trial = store.read("spring.trial")
    assert [sensor.name for sensor in trial.sensors] == ["Fern", "Slate"]
    assert (trial.header.name, trial.header.unit, trial.header.made) == ("spring", Unit.MMOL_L, desk.now.now)
    assert trial.header.zone_origin is ZoneOrigin.GIVEN


def test_the_computer_s_zone_is_read_once_said_and_recorded(desk):
    """Left out, the zone is this computer's, and that is said and kept."""
    said = desk.done("new", "spring.trial", "--sensor", "Fern")
    assert "zone Europe/Lisbon (taken from this computer)" in said.flat
    assert store.read("spring.trial").header.zone_origin is ZoneOrigin.COMPUTER


def test_a_computer_without_a_zone_is_no_guess(desk):
    """Where the computer tells none, the user is asked for one."""
    desk.now = Frozen(zone=None)
    said = desk("new", "spring.trial", "--sensor", "Fern")
    assert (said.code, said.out) == (1, "")
    assert "Give --zone" in said.err
    assert not Path("spring.trial").exists()


def test_what_is_left_out_is_said_to_cost_something(desk):
    """Unknown warm-up, limits, life and price each leave something out, and that is said at once."""
    said = desk.done("new", "spring.trial", "--sensor", "Fern", "--set", "Fern.price=60")
    assert "warm_up of Fern (warm-up counts as zero)" in said.flat
    assert "life of Fern" in said.flat
    assert "price of" not in said.flat
    assert "unit mg/dL (--unit was left out)" in said.flat


def test_two_trials_have_different_seeds(desk):
    """The seed of the random streams is drawn at `new`."""
    for name in ("a.trial", "b.trial"):
        desk.done("new", name, "--sensor", "Fern")
    assert store.read("a.trial").header.seed != store.read("b.trial").header.seed


@pytest.mark.parametrize(
    ("words", "code", "told"),
    [
        (("spring", "--sensor", "Fern"), 2, "Write for example spring.trial"),
        (("spring.trial",), 2, "--sensor is missing"),
        (("spring.trial", "--sensor", "meter"), 1, "'meter' cannot be a sensor's name"),
        (("spring.trial", "--sensor", "Fern", "--sensor", "fern"), 1, "Two sensors are called fern"),
        (("spring.trial", "--sensor", "A", "--sensor", "B", "--sensor", "C", "--sensor", "D"), 1, "Name one to three"),
        (("spring.trial", "--sensor", "Fern", "--zone", "Lisbon"), 1, "'Lisbon' is not a time zone"),
        (("spring.trial", "--sensor", "Fern", "--unit", "g/l"), 1, "Write mg/dL or mmol/L"),
        (("spring.trial", "--sensor", "Fern", "--set", "Fern.life=10"), 1, "has no unit of time"),
    ],
)  # fmt: skip
def test_what_cannot_be_made_is_refused_and_nothing_is_written(desk, words, code, told):
    """One clear message, the right exit code, no file."""
    said = desk("new", *words)
    assert (said.code, said.out) == (code, "")
    assert told in said.err
    assert not list(desk.folder.iterdir())


def test_several_wrong_settings_are_told_at_once(desk):
    """Each problem stands on its own line."""
    said = desk("new", "x.trial", "--sensor", "Fern", "--set", "Fern.life=10", "--set", "Moss.low=40")
    assert said.code == 1
    assert len(said.err.splitlines()) == 2


def test_a_trial_is_never_overwritten(trial):
    """A name that is taken is refused; the trial stays as it was."""
    before = Path("spring.trial").read_bytes()
    said = trial("new", "spring.trial", "--sensor", "Moss")
    assert said.code == 1
    assert "already" in said.err
    assert Path("spring.trial").read_bytes() == before
