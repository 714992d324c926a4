"""Which records name which others."""

import dataclasses
import json
from typing import get_type_hints

from tests.files import make_v1
from tests.store.making import full_stick

from evenhand.store import rows
from evenhand.store.references import NAMING, loose, named_by, named_in
from evenhand.store.state import BatchLine, Version


def test_every_name_in_a_stick_is_found():
    """The sensor shown, the sensor calibrated and the file it came from; never a meter, a lot or a text."""
    assert set(named_in(json.loads(rows.encode(full_stick())))) == {"s-fern", "s-slate", "f-1"}


def test_every_name_in_every_kind_is_found():
    """Over one record of every kind, exactly the ids of other records are found."""
    found = {name for record in make_v1.HELD for name in named_in(json.loads(rows.encode(record)))}
    assert found == {"s-1", "s-2", "w-1", "f-1"}


def test_no_field_that_names_a_record_is_forgotten():
    """A field called like a kind of record is one of those looked at: a new one has to be thought about."""
    fields = set()
    todo = list(rows.KINDS.values())
    for made in todo:
        hints = get_type_hints(made)
        for field in dataclasses.fields(made):
            fields.add(field.name)
            for part in (hints[field.name], *getattr(hints[field.name], "__args__", ())):
                if dataclasses.is_dataclass(part) and part not in todo:
                    todo.append(part)
    assert fields >= NAMING
    assert fields & {*rows.KINDS, "wear", "replaces"} <= NAMING


def test_what_is_loose_is_told_by_pairs():
    """Only names that do not hold are loose; a batch names its file and its sensor."""
    line = BatchLine("b", 1, "f", None, "s", 1, 0, "")
    batch, wear = Version("b", 1, "batch", ""), Version("w", 1, "wear", '{"sensor":"s","replaces":null}')
    assert named_by(batch, {"b": line}) == {"f", "s"}
    assert loose({"b": batch, "w": wear}, (line,)) == {("b", "f"), ("b", "s"), ("w", "s")}
    assert loose({"w": wear, "s": Version("s", 1, "sensor", "{}")}, ()) == set()
    assert loose({"w": wear}, (), {"s": batch}) == set()
