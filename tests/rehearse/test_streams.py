"""Random streams and ids from a seed."""

from evenhand.rehearse.streams import Streams


def test_a_part_has_one_stream():
    """The same seed and names begin the same stream, other names or seeds another."""
    first = Streams(3).of("blood").random(5).tolist()
    assert first == Streams(3).of("blood").random(5).tolist()
    assert first != Streams(3).of("sticks").random(5).tolist()
    assert first != Streams(4).of("blood").random(5).tolist()


def test_names_are_not_run_together():
    """('a', 1) and ('a1',) are different parts."""
    assert Streams(1).of("a", 1).random() != Streams(1).of("a1").random()


def test_ids_differ_and_repeat():
    """Ids are 16 hexadecimal digits, unlike one another, and the same every time."""
    ids = {Streams(9).id("stick", number) for number in range(500)}
    assert len(ids) == 500
    assert all(len(one) == 16 and int(one, 16) >= 0 for one in ids)
    assert Streams(9).id("stick", 7) in ids
    assert Streams(8).id("stick", 7) not in ids
