"""What shares a pathway is judged by the code's rules, and a jacket by the space it lies in."""

from __future__ import annotations

from functools import partial

import pytest

from estimator.calc.separation import (
    CLEARANCE,
    AudioClass,
    Clause,
    SharingRule,
    Within,
    audio_class,
    clause_of,
    index_rules,
    judge_jacket,
    judge_pair,
    judge_shared,
    too_near,
)
from estimator.reference.lookup import table
from tests.calc.refusals import Refused
from tests.published import Check

RULES = index_rules(
    SharingRule(**{name: row.text(name) for name in ("a", "b", "within", "verdict", "condition", "rule")})
    for row in table("separation_rules")
)
CLAUSES = [
    Clause(rule=row.text("rule"), since=int(row.number("since")), clause=row.text("clause"))
    for row in table("separation_clauses")
]
JACKETS = [row.text("jacket") for row in table("jackets")]
CLASSES = [row.text("circuit_class") for row in table("circuit_classes")]
AUDIO = [
    AudioClass(
        circuit_class=row.text("circuit_class"),
        volts_max=row.optional("volts_max"),
        watts_max=row.optional("watts_max"),
    )
    for row in table("audio_classes")
]


def pair(a: str, b: str, within: Within = "raceway", edition: int = 2020) -> tuple[str, str]:
    found = judge_pair(a, b, within=within, rules=RULES, clauses=CLAUSES, edition=edition)
    return found.verdict, found.clause


def jacket(name: str, family: str, space: str) -> str:
    if not table("spaces").has(space=space, family=family):
        return judge_jacket(name, required=None, replaced_by=(), known=JACKETS)
    required = table("spaces").find(space=space, family=family).text("required")
    replaced_by = table("jacket_substitutions").find(jacket=required).texts("may_be_replaced_by")
    return judge_jacket(name, required=required, replaced_by=replaced_by, known=JACKETS)


def serving(family: str, space: str) -> int:
    return sum(jacket(name, family, space) in ("fits", "substitute") for name in JACKETS)


SUBSTITUTIONS = "NEC 2014/2017 substitution tables 725.154(A), 760.154(A), 770.154(b), 800.154(b); memory"
CHECKS = [
    # Source: NEC substitution tables: the required jacket itself and those that may replace it.
    *(
        Check(
            discipline="separation",
            what=f"jackets that may serve {family} in a {space} space",
            source=SUBSTITUTIONS,
            expected=expected,
            tolerance=0,
            obtained=lambda family=family, space=space: serving(family, space),
        )
        for family, space, expected in (
            ("class_2", "plenum", 3),  # CL2P, CL3P, CMP
            ("class_2", "riser", 6),  # CL2R, CMP, CL3P, CL2P, CMR, CL3R
            ("communications", "general", 4),  # CM, CMP, CMR, CMG
            ("pl_fire_alarm", "plenum", 2),  # FPLP, CMP
            ("pl_fire_alarm", "general", 7),  # FPL, CMP, FPLP, CMR, FPLR, CMG, CM
            ("fiber", "riser", 2),  # OFNR, OFNP
        )
    ),
    # Source: NEC 725.136(I) (confirmed): 50 mm in the open; 62 mm apart leave 12 mm.
    Check(
        discipline="separation",
        what="clearance over 50 mm of circuits 62 mm apart [mm]",
        source="NEC 725.136(I), 50 mm, taken from a distance of our own; computed",
        expected=12,
        tolerance=1e-9,  # exact but for binary fractions
        obtained=lambda: (
            1000 * CLEARANCE(distance=0.062, least=table("separation_distances").find(rule="open").number("distance_m"))
        ),
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figures(check: Check) -> None:
    check.hold()


# Source: NEC 800.133(A)(1) (confirmed): communications with Class 2/3, power-limited fire alarm, fiber.
@pytest.mark.parametrize("other", ["class_2", "class_3", "pl_fire_alarm", "fiber", "conductive_fiber"])
def test_communications_share_with_limited_power(other: str) -> None:
    assert pair("communications", other, edition=2017) == ("together", "800.133(A)(1)")
    assert pair(other, "communications", "tray")[0] == "together"


# Source: NEC 725.136 (confirmed), 760.136 and 800.133 (single): not with power, Class 1 or fire alarm
# that is not power-limited, without a barrier or a listed exception; in the open 50 mm.
@pytest.mark.parametrize("within", ["raceway", "tray", "open"])
@pytest.mark.parametrize("hot", ["power", "class_1", "audio_class_1", "npl_fire_alarm"])
@pytest.mark.parametrize("cold", ["communications", "class_2", "class_3", "audio_class_3", "pl_fire_alarm"])
def test_limited_power_keeps_apart_from_power(cold: str, hot: str, within: Within) -> None:
    assert pair(cold, hot, within)[0] == "apart"


def test_audio_shares_no_raceway_with_class_2_or_fire_alarm() -> None:
    # Source: NEC 725.139(F) and 760.139(D): audio wired as Class 2 or 3 (memory).
    assert pair("audio_class_3", "class_2") == ("apart", "725.139(F)")
    assert pair("audio_class_2", "pl_fire_alarm") == ("apart", "760.139(D)")
    assert pair("audio_class_3", "class_2", "open")[0] == "together"


def test_the_edition_chooses_the_clause() -> None:
    assert pair("communications", "class_2", edition=2017)[1] == "800.133(A)(1)"
    assert pair("communications", "class_2", edition=2023)[1] == "800.133 and 805.133"
    assert clause_of("communications_shares", edition=1990, clauses=CLAUSES) == ""
    renumbered = [Clause(rule="r", since=2020, clause="new"), Clause(rule="r", since=2002, clause="old")]
    assert [clause_of("r", edition=edition, clauses=renumbered) for edition in (2001, 2002, 2017, 2020, 2023)] == [
        "",
        "old",
        "old",
        "new",
        "new",
    ]


def test_every_pair_of_classes_has_a_rule_in_every_kind_of_pathway() -> None:
    for within in ("raceway", "tray", "open"):
        for a in CLASSES:
            for b in CLASSES:
                found = judge_pair(a, b, within=within, rules=RULES, clauses=CLAUSES, edition=2023)
                assert found.verdict in ("together", "if", "ask", "apart"), (a, b, within)
                assert found.clause or a == b, (a, b, within)


def test_a_pair_without_a_rule_is_unknown() -> None:
    assert pair("communications", "steam") == ("unknown", "")
    found = judge_shared(["e", "c", "a", "d", "b"], within="open", rules={}, clauses=[], edition=2023)
    assert [shared.a + shared.b for shared in found] == ["ab", "ac", "ad", "ae", "bc", "bd", "be", "cd", "ce", "de"]
    assert {shared.condition for shared in found} == {"no rule speaks of this pair"}


def test_a_segment_reports_each_pair_that_may_not_simply_share() -> None:
    found = judge_shared(
        ["power", "class_2", "communications", "class_2"],
        within="tray",
        rules=RULES,
        clauses=CLAUSES,
        edition=2020,
    )

    assert [(shared.a, shared.b, shared.verdict) for shared in found] == [
        ("class_2", "power", "apart"),
        ("communications", "power", "apart"),
    ]
    assert "50 mm" in found[0].condition
    assert judge_shared([], within="open", rules=RULES, clauses=CLAUSES, edition=2020) == ()


def test_two_rules_for_one_pair_are_refused() -> None:
    rule = SharingRule(a="x", b="y", within="any", verdict="apart", condition="", rule="r")
    swapped = SharingRule(a="y", b="x", within="any", verdict="if", condition="", rule="r")

    with pytest.raises(ValueError, match="two rules for 'y' and 'x' within 'any'"):
        index_rules([rule, swapped])


@pytest.mark.parametrize(
    ("name", "family", "space", "word"),
    [
        ("CMP", "communications", "plenum", "fits"),
        ("CMR", "communications", "plenum", "does not fit"),
        ("CMP", "communications", "riser", "substitute"),
        ("CM", "communications", "riser", "does not fit"),
        ("CMX", "communications", "general", "does not fit"),
        ("CL3P", "class_2", "plenum", "substitute"),
        ("CL2P", "class_3", "plenum", "does not fit"),
        ("CL2P", "communications", "plenum", "does not fit"),
        ("FPLP", "class_2", "plenum", "does not fit"),
        ("CMP", "pl_fire_alarm", "plenum", "substitute"),
        ("OFNP", "conductive_fiber", "plenum", "substitute"),
        ("OFCP", "fiber", "plenum", "does not fit"),
        ("CMP", "communications", "outdoor", "not judged"),
        ("OSP", "communications", "general", "does not fit"),
        ("CAT6", "communications", "general", "unknown jacket"),
    ],
)
def test_a_jacket_is_judged_by_family_and_space(name: str, family: str, space: str, word: str) -> None:
    assert jacket(name, family, space) == word


def test_no_substitute_is_listed_for_an_easier_space() -> None:
    # Source: NEC: a substitute is listed for the same or a more demanding environment (confirmed).
    rank = {"plenum": 3, "riser": 2, "general": 1, "limited": 0}
    environment = {row.text("jacket"): row.text("environment") for row in table("jackets")}

    for row in table("jacket_substitutions"):
        for substitute in row.texts("may_be_replaced_by"):
            assert rank[environment[substitute]] >= rank[environment[row.text("jacket")]]


def test_substitution_never_goes_in_a_circle() -> None:
    lists = {row.text("jacket"): row.texts("may_be_replaced_by") for row in table("jacket_substitutions")}

    for name, substitutes in lists.items():
        assert not any(name in lists.get(substitute, ()) for substitute in substitutes)


# Source: low-voltage wiring handbook on 640.9(C) (single).
@pytest.mark.parametrize(
    ("volts", "watts", "expected"),
    [
        (25, 100, "audio_class_2"),
        (25, 100.1, "audio_class_1"),
        (70.7, 100, "audio_class_3"),
        (70.8, 100, "audio_class_1"),
        (100, 60, "audio_class_1"),
    ],
)
def test_audio_class_by_volts_and_watts(volts: float, watts: float, expected: str) -> None:
    assert audio_class(volts=volts, watts=watts, classes=AUDIO) == expected


def test_a_line_that_no_class_holds_is_refused() -> None:
    with pytest.raises(ValueError, match="no wiring class holds 100 V and 60 W"):
        audio_class(volts=100, watts=60, classes=AUDIO[:2])


@pytest.mark.parametrize(("distance_m", "near"), [(0.0, True), (0.0499, True), (0.050, False), (0.3, False)])
def test_at_the_distance_itself_nothing_is_too_near(distance_m: float, near: bool) -> None:
    assert too_near(distance_m=distance_m, least_m=0.050) is near


NONE = partial(judge_pair, a="power", b="class_2", within="tray", rules={}, clauses=[], edition=2023)
REFUSED = [
    Refused(possible=partial(clause_of, rule="any", edition=2023, clauses=[]), above_zero="edition"),
    Refused(possible=NONE, above_zero="edition"),
    Refused(
        possible=partial(judge_shared, classes=["power"], within="tray", rules={}, clauses=[], edition=2023),
        above_zero="edition",
    ),
    Refused(possible=partial(too_near, distance_m=0.0, least_m=0.0), zero_or_more="distance_m least_m"),
    Refused(possible=partial(audio_class, volts=25, watts=100, classes=AUDIO), above_zero="volts watts"),
]


@pytest.mark.parametrize("refused", REFUSED, ids=str)
def test_what_cannot_be_is_refused(refused: Refused) -> None:
    """The quantity and its value are named."""
    refused.hold()
