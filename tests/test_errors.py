"""Errors: what was found, where, the cure; gathered problems; exit codes and HTTP statuses."""

import pytest

from evenhand import errors
from evenhand.errors import BadTime, BadValue, EvenhandError, Place, Problems, raise_all


def all_kinds(base=EvenhandError):
    """Every class of error, however deep."""
    for kind in base.__subclasses__():
        yield kind
        yield from all_kinds(kind)


def test_a_place_says_what_is_known():
    """File, sheet, line and column, each only where there is one; nothing for nowhere."""
    assert str(Place(file="meter.xlsx", sheet="Log", line=14, column="Glucose")) == (
        "meter.xlsx, sheet Log, line 14, column Glucose"
    )
    assert str(Place(line=0)) == "line 0"
    assert str(errors.NOWHERE) == ""


def test_an_error_is_one_line():
    """Place, what was found, cure; without a place no colon."""
    told = BadValue("'x' is not a value.", "Write a number.", Place(file="a.csv", line=3))
    assert str(told) == "a.csv, line 3: 'x' is not a value. Write a number."
    assert str(BadValue("'x' is not a value.", "Write a number.")) == "'x' is not a value. Write a number."
    assert (told.found, told.cure, told.place.line) == ("'x' is not a value.", "Write a number.", 3)


def test_every_kind_has_its_own_code():
    """Codes tell kinds apart for programs, are words with hyphens, and go with a sensible HTTP status."""
    kinds = list(all_kinds())
    codes = [kind.code for kind in kinds]
    assert len(kinds) >= 20
    assert len(set(codes)) == len(codes)
    for kind in kinds:
        assert kind.code.replace("-", "").isalpha()
        assert kind.code == kind.code.lower()
        assert kind.http_status in (400, 403, 404, 409, 507)
        assert kind.__doc__


def test_exit_codes():
    """Wrong use is 2, every other refusal 1, as the contract has it."""
    for kind in all_kinds():
        assert kind.exit_code == (2 if kind is errors.WrongUse else 1)


def test_problems_are_told_at_once():
    """Several problems are one error with one line each, and can be taken apart, nested ones too."""
    one, two, three = (BadValue(f"'{x}' is wrong.", "Mend it.", Place(line=n)) for n, x in enumerate("abc"))
    both = Problems([one, Problems([two, three])])
    assert str(both).splitlines() == [str(one), str(two), str(three)]
    assert both.each() == (one, two, three)
    assert one.each() == (one,)
    assert both.exit_code == 1


def test_problems_of_nothing_are_a_defect():
    """There is no error without a problem."""
    with pytest.raises(ValueError, match="at least one"):
        Problems([])


def test_raise_all():
    """Nothing for none, the one itself for one, all together for more; a generator will do."""
    raise_all([])
    one, two = BadTime("No.", "Yes."), BadValue("No.", "Yes.")
    with pytest.raises(BadTime) as single:
        raise_all(iter([one]))
    assert single.value is one
    with pytest.raises(Problems) as several:
        raise_all(problem for problem in (one, two))
    assert several.value.each() == (one, two)
