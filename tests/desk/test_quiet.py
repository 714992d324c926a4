"""The cycle collector rests within, and is as it was afterwards."""

import gc

import pytest

from evenhand.desk.quiet import no_collecting


@pytest.mark.parametrize("before", [True, False])
def test_it_is_as_it_was_afterwards_even_after_an_error(before):
    """On stays on, off stays off."""
    was = gc.isenabled()
    try:
        (gc.enable if before else gc.disable)()
        with pytest.raises(KeyError), no_collecting():
            {}[gc.isenabled()]
        assert gc.isenabled() is before
    finally:
        (gc.enable if was else gc.disable)()
