"""The JSON Schema and the key table come from the declared fields and fit the demo."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import jsonschema
import pytest
import yaml

from estimator.spec.schema import key_table, project_schema

SPECS = sorted((Path(__file__).parents[2] / "specs").rglob("*.yaml"))


class _Plain(yaml.SafeLoader):
    """A YAML 1.2 reader's view: dates stay text."""


_Plain.yaml_implicit_resolvers = {
    first: [(tag, regexp) for tag, regexp in resolvers if tag != "tag:yaml.org,2002:timestamp"]
    for first, resolvers in yaml.SafeLoader.yaml_implicit_resolvers.items()
}


def plain(path: Path) -> Any:
    """Return what an ordinary YAML reader makes of a file."""
    return yaml.load(path.read_text(encoding="utf-8"), Loader=_Plain)


@pytest.mark.parametrize("path", [p for p in SPECS if p.stem not in ("prices", "restricted")], ids=lambda p: p.stem)
def test_the_jobs_in_specs_fit_the_schema(path: Path) -> None:
    """Reference: the jsonschema library, draft 2020-12."""
    jsonschema.Draft202012Validator.check_schema(project_schema())
    jsonschema.validate(plain(path), project_schema())


def test_the_schema_refuses_what_the_reader_refuses() -> None:
    """An unknown key, a missing one, a number where text with a unit belongs."""
    validator = jsonschema.Draft202012Validator(project_schema())
    good: dict[str, Any] = {"dropledger": 1, "project": {"name": "T"}}
    assert validator.is_valid(good)
    assert not validator.is_valid({**good, "colour": "blue"})
    assert not validator.is_valid({"dropledger": 1})
    assert not validator.is_valid({**good, "rules": {"room_leg": 12}})


def test_the_key_table_has_every_key_of_the_schema() -> None:
    """One declaration makes both."""
    table = {(line.block.rsplit(".", 1)[-1], line.key) for line in key_table()}
    assert ("rules", "room_leg") in table
    assert ("drops", "id") in table or ("", "drops") in table
    assert all(line.meaning and line.otherwise for line in key_table())


@pytest.mark.parametrize(
    ("key", "otherwise"),
    [
        ("waste_percent", "default 5"),
        ("max_fill_conduit_percent", "default 40"),
        ("cut_to", "default 0.3048 m"),
        ("speaker_loss", "default 0.5 dB"),
        ("ambient", "default 20 C"),
        ("poe_cords", "default 10 m"),
    ],
)
def test_a_default_stands_as_somebody_would_type_it(key: str, otherwise: str) -> None:
    """What the key table prints can be typed into the file."""
    assert [line.otherwise for line in key_table() if line.key == key and line.block == "rules"] == [otherwise]
