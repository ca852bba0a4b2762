"""The field sheets on a phone: the core's verdicts, kept over a reload, handed in as a file that collect takes."""

from __future__ import annotations

import json
import shutil
import time
from collections.abc import Iterator, Mapping
from importlib import resources
from pathlib import Path
from typing import Any

import pytest
from selenium import webdriver
from selenium.webdriver.common.by import By
from selenium.webdriver.common.keys import Keys

from estimator.acceptance.criteria import criteria_for
from estimator.cli.main import main
from estimator.documents.field_sheets import field_sheets
from estimator.documents.phone_page import phone_page
from estimator.spec.load import load
from estimator.takeoff.takeoff import take_off
from tests.documents.browser import chromium, complaints, requests, saves_to
from tests.documents.job_sample import circuits, takeoff
from tests.documents.test_field_sheets import Try, _good, _judged, _tries, _written

DEMO = Path(__file__).parents[2] / "specs" / "library"
READINGS = 500
ENTERED = 20
MOST_BYTES = 1_000_000


def page() -> bytes:
    """Return the demo's page."""
    return phone_page(field_sheets(takeoff(), circuits(), None), takeoff().project)


@pytest.fixture(scope="module")
def phone(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[webdriver.Chrome, str]]:
    """Give a browser, and the address of the demo's page."""
    folder = tmp_path_factory.mktemp("phone")
    (folder / "page.html").write_bytes(page())
    with chromium(folder / "profile") as browser:
        yield browser, (folder / "page.html").as_uri()


@pytest.fixture
def opened(phone: tuple[webdriver.Chrome, str], tmp_path: Path) -> tuple[webdriver.Chrome, Path]:
    """Return the browser with the demo's page open and nothing kept, and the folder it saves to."""
    browser, address = phone
    browser.get(address)
    browser.execute_script("window.localStorage.clear()")
    browser.get(address)
    saves_to(browser, tmp_path / "saved")
    requests(browser)
    complaints(browser)
    return browser, tmp_path / "saved"


def written(number: float, place: int) -> str:
    """Return a number as somebody types it: every second one with a decimal comma where that is plain."""
    text = repr(number) if "e" not in repr(number) else f"{number:.18f}".rstrip("0").rstrip(".")
    digits = text.partition(".")[2]
    return text.replace(".", ",") if place % 2 and len(digits) != 3 else text


def cells(one: Try, place: int) -> dict[str, str]:
    """Return the texts of a row whose one reading is tried while the needed others are good."""
    typed = {column.key: _good(criterion, column) for column, criterion in _judged(one.place) if criterion.required}
    typed[one.column.key] = one.typed
    return {
        key: written(value, place) if isinstance(value, float) else str(value)
        for key, value in typed.items()
        if value is not None
    }


def test_typed_values_get_the_verdicts_of_the_core(opened: tuple[webdriver.Chrome, Path]) -> None:
    """500 generated readings: each limit exactly and one step either side, OL, words, blanks, decimal commas."""
    browser, _ = opened
    tries = _tries(_written())[:READINGS]
    asked = [
        {"circuit": one.place.circuit.circuit, "medium": one.place.circuit.medium,
         "position": one.place.block or one.place.circuit.row, "cells": cells(one, place)}
        for place, one in enumerate(tries)
    ]  # fmt: skip
    words: list[str] = browser.execute_script(
        """return arguments[0].map((one) => {
             const row = ROWS.find((each) => each.given.circuit === one.circuit && each.sheet.medium === one.medium
               && String(each.position) === one.position);
             return verdict(row.sheet, row, one.cells); });""",
        asked,
    )
    wrong = [
        (one.place.circuit.id, one.column.key, each["cells"].get(one.column.key), one.expected, word)
        for one, each, word in zip(tries, asked, words, strict=True)
        if word != one.expected
    ]
    assert wrong == []
    assert len(words) == READINGS
    assert {"", "pass", "fail", "incomplete"} <= set(words)
    texts = [text for each in asked for text in each["cells"].values()]
    assert any("," in text for text in texts)
    assert "OL" in texts


def _type(browser: webdriver.Chrome, *keys: str) -> None:
    browser.switch_to.active_element.send_keys(*keys)


def _tab_to(browser: webdriver.Chrome, wanted: str) -> None:
    """Press Tab until the element of that id, radio group or text has the focus."""
    for _ in range(120):
        active = browser.switch_to.active_element
        if wanted in (active.get_attribute("id"), active.get_attribute("name"), active.text.strip()):
            return
        _type(browser, Keys.TAB)
    raise AssertionError(f"{wanted} can't be reached by keyboard")


def _enter(browser: webdriver.Chrome, circuit: str, typed: Mapping[str, str], *, by_keys: bool = False) -> str:
    """Find a circuit and fill it in, by keyboard alone where wanted; return the verdict that the page shows."""
    if not by_keys:
        return _touch(browser, circuit, typed)
    _tab_to(browser, "wanted")
    _type(browser, Keys.CONTROL + "a")
    _type(browser, circuit)
    _type(browser, Keys.TAB * 4, Keys.ENTER)  # over the three filters to the first circuit found
    assert browser.find_element(By.ID, "sheet-head").text == circuit
    for key, text in typed.items():
        _tab_to(browser, f"entry-{key}")
        if key == "wire_map":  # a group of words: its arrows choose, from the blank at the end to the first
            _type(browser, Keys.ARROW_RIGHT)
        else:
            _type(browser, text)
    verdict = browser.find_element(By.ID, "verdict").text
    _type(browser, Keys.ESCAPE)
    return verdict


def _touch(browser: webdriver.Chrome, circuit: str, typed: Mapping[str, str]) -> str:
    """Find a circuit and fill it in by pointing."""
    wanted = browser.find_element(By.ID, "wanted")
    wanted.clear()
    wanted.send_keys(circuit)
    browser.find_element(By.CSS_SELECTOR, "#found button").click()
    assert browser.find_element(By.ID, "sheet-head").text == circuit
    for key, text in typed.items():
        if key == "wire_map":
            word = browser.find_element(By.CSS_SELECTOR, f"input[name=entry-{key}][value={text}]")
            browser.execute_script("arguments[0].scrollIntoView({block: 'center'})", word)
            word.click()
        else:
            browser.find_element(By.ID, f"entry-{key}").send_keys(text)
    verdict = browser.find_element(By.ID, "verdict").text
    browser.find_element(By.ID, "back").click()
    return verdict


def _link(place: int) -> dict[str, str]:
    """Return what is typed for a link: most are good, every fifth is too long, every seventh lacks its length."""
    length = "410,5" if place % 5 == 4 else "150.5"
    typed = {"wire_map": "pass", "length": length} if place % 7 != 6 else {"wire_map": "pass"}
    loops = {f"resistance_{pair}": "6,25" for pair in ("12", "36", "45", "78")}
    return {**typed, **loops, **({"person": "Crew 9"} if place == 0 else {})}


def test_twenty_circuits_over_a_reload_into_collect(
    opened: tuple[webdriver.Chrome, Path], tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    """Entered, three by keys alone, reloaded in between, saved, collected: the office says what the page does."""
    browser, saved = opened
    links = [one.circuit for one in circuits() if one.medium == "balanced_pair"][:ENTERED]
    shown: dict[str, str] = {}
    for place, circuit in enumerate(links):
        if place == ENTERED // 2:
            browser.refresh()
        shown[circuit] = _enter(browser, circuit, _link(place), by_keys=place < 3).removeprefix("Verdict: ")
    assert set(shown.values()) >= {"fail", "incomplete"}
    _tab_to(browser, "save")
    _type(browser, Keys.ENTER)
    file = _downloaded(saved)
    assert f"{ENTERED} rows saved" in browser.find_element(By.ID, "saved").text
    assert {url.split(":")[0] for url in requests(browser)} <= {"file", "data", "blob"}
    assert complaints(browser) == []

    folder = tmp_path / "job"
    shutil.copytree(DEMO, folder, ignore=shutil.ignore_patterns("pictures", "sheets", "*.readings"))
    assert main(["collect", str(folder / "library.yaml"), str(file)]) == 0
    assert f"{ENTERED} rows" in capsys.readouterr().out
    from estimator.field.job import judge_job

    project = load(folder / "library.yaml").project
    assert project is not None
    result = judge_job(take_off(project)).result
    words = {circuit: result.by_id[circuit].word for circuit in links}
    # The page previews without the instrument's accuracy, so that a marginal word is its plain one.
    plain = {circuit: word.replace("marginal ", "") for circuit, word in words.items()}
    assert plain == shown
    first = result.by_id[links[0]].history[0].rows[0].cells
    assert first["person"] == "Crew 9"
    assert first["length"] == "150.5"
    assert first["resistance_12"] == "6.25"
    assert result.by_id[links[1]].history[0].rows[0].cells["person"] == "Crew 9", "carried to the next circuit"


def _downloaded(folder: Path) -> Path:
    for _ in range(100):
        found = list(folder.glob("*.json"))
        if found:
            return found[0]
        time.sleep(0.1)
    raise AssertionError("nothing was saved")


def test_a_failed_round_is_kept_beside_the_next(opened: tuple[webdriver.Chrome, Path]) -> None:
    """Testing again starts a blank round; both are handed in."""
    browser, saved = opened
    circuit = next(one.circuit for one in circuits() if one.medium == "balanced_pair")
    _enter(browser, circuit, {"length": "999"})
    browser.find_element(By.CSS_SELECTOR, "#found button").click()
    browser.find_element(By.ID, "again").click()
    assert browser.find_element(By.ID, "sheet-head").text == f"{circuit}, round 2"
    assert browser.find_element(By.ID, "earlier").text == "round 1: fail"
    browser.find_element(By.ID, "entry-length").send_keys("120")
    browser.refresh()
    browser.find_element(By.ID, "save").click()
    rows = json.loads(_downloaded(saved).read_text(encoding="utf-8"))["sheets"][0]["rows"]
    assert [(row["circuit"], row["round"], row["cells"]["length"]) for row in rows] == [
        (circuit, "1", 999),
        (circuit, "2", 120),
    ]


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("1,050", "can be read in two ways: write 1050 or 1.050"),
        ("abc", "A number from"),
        ("99999999", "A number from"),
        ("120.5", ""),
        ("120,5", ""),
        ("ol", ""),
    ],
)
def test_what_can_not_be_read_is_told_at_once(opened: tuple[webdriver.Chrome, Path], typed: str, says: str) -> None:
    """A sentence stands under the entry, and the entry says that it is wrong."""
    browser, _ = opened
    _enter(browser, next(one.circuit for one in circuits() if one.medium == "balanced_pair"), {})
    browser.find_element(By.CSS_SELECTOR, "#found button").click()
    entry = browser.find_element(By.ID, "entry-length")
    entry.send_keys(typed)
    assert says in browser.find_element(By.ID, "entry-length-trouble").text
    assert entry.get_attribute("aria-invalid") == str(bool(says)).lower()


def test_axe_finds_nothing_serious(opened: tuple[webdriver.Chrome, Path]) -> None:
    """Reference: axe-core, on the list and on an open circuit; and nothing is wider than a small phone."""
    browser, _ = opened
    axe = resources.files("axe_core_python").joinpath("axe.min.js").read_text(encoding="utf-8")
    browser.execute_script(axe)
    for view in ("list", "circuit"):
        if view == "circuit":
            _enter(browser, next(one.circuit for one in circuits() if one.medium == "balanced_pair"), {"length": "x"})
            browser.find_element(By.CSS_SELECTOR, "#found button").click()
        found: dict[str, Any] = browser.execute_async_script("axe.run().then(arguments[arguments.length - 1])")
        serious = [(one["id"], one["help"]) for one in found["violations"] if one["impact"] in ("serious", "critical")]
        assert serious == [], view
        assert found["passes"]
        assert browser.execute_script("return document.documentElement.scrollWidth") <= 360, view


def test_five_hundred_circuits_stay_under_a_megabyte(tmp_path: Path) -> None:
    """A job of 500 links, each with its own limits."""
    (tmp_path / "many.yaml").write_text(
        "dropledger: 1\nproject: {name: Many}\nrooms: [{id: 1A}]\ncables: [{id: C6, type: cat6_utp_plenum}]\n"
        "devices: [{id: cam, cable: C6, end: plug, poe_class: 4, draw: 12 W}]\ndrops:\n"
        + "".join(f"  - {{id: D-{n}, room: 1A, length: {60 + n / 2} ft, device: cam}}\n" for n in range(500)),
        encoding="utf-8",
    )
    project = load(tmp_path / "many.yaml").project
    assert project is not None
    many = take_off(project)
    written_page = phone_page(field_sheets(many, criteria_for(project, many.footage, many.power.dc), None), project)
    assert len(written_page) < MOST_BYTES
    assert written_page.count(b'"limits":') > 500


def test_no_text_of_a_job_can_break_out_of_its_data(tmp_path: Path) -> None:
    """A name that ends a script stays a name; the page asks for nothing from anywhere."""
    (tmp_path / "odd.yaml").write_text(
        'dropledger: 1\nproject: {name: "</script><script>alert(1)</script>"}\nrooms: [{id: 1A}]\n'
        "cables: [{id: C6, type: cat6_utp_plenum}]\ndevices: [{id: data, cable: C6}]\n"
        "drops: [{id: D-1, room: 1A, length: 40 m, device: data}]\n",
        encoding="utf-8",
    )
    project = load(tmp_path / "odd.yaml").project
    assert project is not None
    odd = take_off(project)
    text = phone_page(field_sheets(odd, criteria_for(project, odd.footage), None), project).decode()
    assert text.count("<script") == 2
    assert "<script>alert" not in text
    assert "http://" not in text
    assert "https://" not in text


def test_same_job_gives_the_same_bytes() -> None:
    """Two builds are alike, byte for byte."""
    assert page() == page()
