"""The test plan's page on power over Ethernet: on which pins volts must show."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from estimator.documents.description import Column, Paragraph, Section, Table
from estimator.takeoff.poe import PoE
from estimator.takeoff.poe_reach import BOTH, power_pins, reversed_pins

_WORDS: Final = {BOTH: "all four, in two sets", "A": "two, set A", "B": "two, set B"}


def pins_section(poe: PoE) -> Iterable[Section]:
    """Yield the pins that carry power, where a device of the job takes any."""
    if not poe.devices:
        return
    text = (
        "With the device's cord in the tester, volts show on the pins below and on no others. Where the switch "
        "decides, one of the two sets has them. Sets in four pairs must both have them: with one dead, a large "
        "device starts and then fails under its load. Read watts under load, not volts alone."
    )
    rows = [
        (
            _WORDS.get(pins.alternatives, "two, by the switch"),
            len(pins.circuits),
            ", ".join(str(number) for number in pins.classes),
            pins.row.text("alternative"),
            *pins.pins,
            "yes" if reversed_pins(pins) else "no",
            pins.row.source,
        )
        for pins in power_pins(poe.devices)
    ]
    table = Table(
        name="poe_pins",
        title="Pins that carry power",
        columns=(
            Column(key="pairs", head="Powered pairs"),
            Column(key="circuits", head="Circuits", kind="whole"),
            Column(key="classes", head="Classes"),
            Column(key="set", head="Set"),
            Column(key="positive", head="Positive"),
            Column(key="negative", head="Negative"),
            Column(key="reversed", head="Reversed is sound"),
            Column(key="source", head="From"),
        ),
        rows=rows,
    )
    yield Section(title="Pins of power over Ethernet", blocks=(Paragraph(text), table), level=2)
