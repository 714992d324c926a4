"""What the demo starts from."""

from evenhand.desk.demonstrating import Told, prepare_demo


def test_the_demo_s_world_stands_still():
    """The same ids and seed in every run; ids differ among themselves."""
    one, same = Told(1000, 1), Told(1000, 1)
    drawn = [one.fresh_id() for _ in range(50)]
    assert drawn == [same.fresh_id() for _ in range(50)]
    assert len(set(drawn)) == 50
    assert one.seed() == same.seed() < 2**48
    assert one.instant() == 1000


def test_the_files_are_those_of_a_wearer(tmp_path):
    """Two exports, the meter's memory and a diary that starts by making the trial in this folder."""
    demo = prepare_demo(tmp_path / "demo")
    assert [name for name, _ in demo.written.exports] == ["Fern", "Slate"]
    assert all(path.stat().st_size > 100_000 for _, path in demo.written.exports)
    assert demo.commands[0][:2] == ("new", str(tmp_path / "demo" / "demo.trial"))
    assert {command[0] for command in demo.commands} == {"new", "wear", "stick", "note"}
    assert not demo.trial.exists()
