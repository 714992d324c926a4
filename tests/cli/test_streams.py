"""What is put out, and how."""

from hypothesis import given
from hypothesis import strategies as st

from evenhand.cli.streams import WIDTH, aside, data, line, words, wrapped

WORD = st.text(st.characters(categories=("L", "N", "P")), min_size=1, max_size=30)


@given(st.lists(WORD, min_size=1, max_size=60), st.sampled_from(("", "  ", "      ")))
def test_wrapping_keeps_every_word_in_order(told, indent):
    """No word is lost, parted or moved, and no line is wider than 80 unless one word alone is."""
    text = wrapped(" ".join(told), indent)
    assert text.split() == " ".join(told).split()
    assert all(len(row) <= WIDTH or len(row.split()) == 1 for row in text.splitlines())
    assert all(row.startswith(indent) for row in text.splitlines() if row)


def test_a_path_or_a_time_is_never_broken():
    """What is to be copied stays in one piece."""
    path = "/".join(["a-very-long-folder"] * 6)
    assert path in wrapped(f"Copied to {path} just now").splitlines()


def test_words_and_data_go_out_and_asides_beside(capsys):
    """Results on standard output, remarks on standard error."""
    line("one")
    words("two")
    data("drei ü\n")
    aside("vier")
    captured = capsys.readouterr()
    assert captured.out == "one\ntwo\ndrei ü\n"
    assert captured.err == "vier\n"
