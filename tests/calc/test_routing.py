"""Routes are the shortest, ties are decided by rule, and fill adds up along them."""

from __future__ import annotations

import math
import random
import time
from collections import Counter

import networkx
import pytest
import scipy.sparse
import scipy.sparse.csgraph
from hypothesis import given, settings
from hypothesis import strategies as st

from estimator.calc.routing import AVERAGE_ROUTE, EXPECTED_LENGTH, SEGMENT_LENGTH, Graph, Segment, Tree, tree
from tests.published import Check

FT = 0.3048


def graph(*lines: str) -> Graph:
    """A graph from lines such as ``S1 A B 12.5``."""
    rows = [line.split() for line in lines]
    return Graph(Segment(id=i, start=a, end=b, length_m=float(m)) for i, a, b, m in rows)


SQUARE = ("S1 A B 10", "S2 B D 10", "S3 A C 10", "S4 C D 10")


def residential_total_ft() -> float:
    ends = {"room_leg": 36 / 12, "last_leg": 15.0, "slack_room": 0.0, "slack_device": 8 / 12}
    lengths = [EXPECTED_LENGTH(route=route, loops=0, service_loop=0, **ends) for route in (120.0, 40.0)]
    return sum(lengths)


def residential_slack_m() -> float:
    """36 in at the distribution device, 8 in at the outlet, as the expected length takes them."""
    parts = dict.fromkeys(("route", "room_leg", "last_leg", "loops", "service_loop"), 0.0)
    return EXPECTED_LENGTH(**parts, slack_room=36 / 12 * FT, slack_device=8 / 12 * FT)


def averaged_m(*, longest: float, shortest: float, allowance: float, ends: float) -> float:
    """The expected length of a drop whose route is the average of its room's longest and shortest."""
    route = AVERAGE_ROUTE(longest=longest, shortest=shortest, allowance=allowance)
    parts = dict.fromkeys(("room_leg", "last_leg", "slack_room", "loops", "service_loop"), 0.0)
    return EXPECTED_LENGTH(route=route, slack_device=ends, **parts)


def corner_to_corner_m() -> float:
    lines = [f"H{x}{y} {x}.{y} {x + 1}.{y} 7" for x in range(4) for y in range(5)]
    lines += [f"V{x}{y} {x}.{y} {x}.{y + 1} 11" for x in range(5) for y in range(4)]
    return tree(graph(*lines), "0.0").length_to("4.4") or 0.0


def around_a_ring_m(via: tuple[str, ...]) -> float:
    ring = graph(*(f"S{i} N{i} N{(i + 1) % 9} 4" for i in range(9)))
    return tree(ring, "N0", via=via).length_to("N3") or 0.0


GENERAL_WIRING = "trade articles on general wiring, quantity formula 0.55 (longest + shortest) + 6 m; single"
AVERAGE_PLUS_FIVE = "trade article on general wiring, mean run and 5 m; single"
RESIDENTIAL = "residential cabling guide, 3rd edition, averaging of runs; confirmed"
# The formula is the source's, the runs put into it and so the result are not.
OWN_RUNS = "worked by hand for runs of our own; computed"

CHECKS = [
    # Source: residential cabling guide (confirmed), total = ((shortest + longest) / 2 + slack + drop) x outlets
    # with 44 in of slack and a 15 ft drop: ((40 + 120) / 2 + 44 / 12 + 15) x 2 = 197.33 ft.
    Check(
        discipline="routing",
        what="two runs with slack and drop [ft]",
        source=f"{RESIDENTIAL.removesuffix('confirmed')}{OWN_RUNS}",
        expected=197.33,
        tolerance=0.005,
        obtained=residential_total_ft,
    ),
    # Source: the same guide prints its slack of 36 in and 8 in as 44 in and as 1.1 m.
    Check(
        discipline="routing",
        what="slack at both ends of a residential run [in]",
        source=RESIDENTIAL,
        expected=44,
        tolerance=0.5,
        obtained=lambda: residential_slack_m() / FT * 12,
    ),
    Check(
        discipline="routing",
        what="slack at both ends of a residential run [m]",
        source=RESIDENTIAL,
        expected=1.1,
        tolerance=0.05,
        obtained=residential_slack_m,
        look_up=True,  # the sum above in other units
    ),
    # Source: trade articles (single), C = [0.55 (L + S) + 6] n: half the sum and ten percent are 0.55 of it.
    Check(
        discipline="routing",
        what="share of the longest run in the average [unitless]",
        source=GENERAL_WIRING,
        expected=0.55,
        tolerance=0.005,
        obtained=lambda: AVERAGE_ROUTE(longest=1, shortest=0, allowance=0.10),
    ),
    # Source: the same formula: longest 60 m, shortest 20 m, 50 drops are (0.55 x 80 + 6) x 50 = 2,500 m.
    Check(
        discipline="routing",
        what="fifty drops by the averaging formula [m]",
        source=f"{GENERAL_WIRING.removesuffix('single')}{OWN_RUNS}",
        expected=2500,
        tolerance=1e-9,  # exact but for binary fractions
        obtained=lambda: 50 * averaged_m(longest=60, shortest=20, allowance=0.10, ends=6),
    ),
    # Source: trade article (single), total = ((longest + shortest) / 2 + 5 m) x drops: 24 of 70 and 30 m are 1,320 m.
    Check(
        discipline="routing",
        what="24 drops by the mean run and 5 m [m]",
        source=f"{AVERAGE_PLUS_FIVE.removesuffix('single')}{OWN_RUNS}",
        expected=1320,
        tolerance=1e-9,  # exact but for binary fractions
        obtained=lambda: 24 * averaged_m(longest=70, shortest=30, allowance=0.0, ends=5),
    ),
    # Source: the vocabulary's meaning of length and rise: 100 ft flat and a 12 ft leg are 112 ft.
    Check(
        discipline="routing",
        what="segment with a rise [ft]",
        source="addition of the two legs; computed",
        expected=112,
        tolerance=1e-9,  # exact but for binary fractions
        obtained=lambda: SEGMENT_LENGTH(length=100 * FT, rise=12 * FT) / FT,
    ),
    # Source: a 5 x 5 grid has no way from corner to corner below 4 x 7 + 4 x 11 m.
    Check(
        discipline="routing",
        what="corner to corner of a grid [m]",
        source="closed form of a rectangular grid; computed",
        expected=72,
        tolerance=0,
        obtained=corner_to_corner_m,
    ),
    # Source: a ring of nine 4 m segments: three one way, six the other.
    Check(
        discipline="routing",
        what="short way around a ring [m]",
        source="closed form of a ring; computed",
        expected=12,
        tolerance=0,
        obtained=lambda: around_a_ring_m(()),
    ),
    Check(
        discipline="routing",
        what="long way around a ring, through its far segment [m]",
        source="closed form of a ring; computed",
        expected=24,
        tolerance=0,
        obtained=lambda: around_a_ring_m(("S5",)),
    ),
]


@pytest.mark.parametrize("check", CHECKS, ids=str)
def test_published_figures(check: Check) -> None:
    check.hold()


def test_route_to_the_room_itself_is_empty() -> None:
    routes = tree(graph("S1 A B 3"), "A")

    assert routes.length_to("A") == 0.0
    assert routes.segments_to("A") == ()


def test_equal_routes_go_by_the_earlier_segment_ids() -> None:
    assert tree(graph(*SQUARE), "A").segments_to("D") == ("S1", "S2")
    assert tree(graph("S9 A B 10", *SQUARE[1:]), "A").segments_to("D") == ("S3", "S4")


def test_fewer_segments_win_before_ids_are_looked_at() -> None:
    assert tree(graph(*SQUARE, "Z A D 20"), "A").segments_to("D") == ("Z",)


def test_ids_are_compared_from_the_room_outward() -> None:
    tied = graph("B1 A X 1", "A9 X D 1", "B2 A Y 1", "A1 Y D 1")

    assert tree(tied, "A").segments_to("D") == ("B1", "A9")


def test_float_noise_does_not_break_a_tie() -> None:
    noisy = graph("S1 A B 0.1", "S2 B C 0.2", "S3 C D 0.3", "T1 A E 0.3", "T2 E F 0.2", "T3 F D 0.1")

    routes = tree(noisy, "A")

    assert 0.1 + 0.2 + 0.3 != 0.3 + 0.2 + 0.1
    assert routes.segments_to("D") == ("S1", "S2", "S3")
    assert routes.length_to("D") == 0.6


def test_parallel_segments_have_ids_of_their_own() -> None:
    assert tree(graph("S2 A B 5", "S1 A B 5"), "A").segments_to("B") == ("S1",)
    assert tree(graph("S2 A B 4", "S1 A B 5"), "A").segments_to("B") == ("S2",)


def test_a_segment_without_length_still_counts_as_a_segment() -> None:
    assert tree(graph("S1 A B 0", "S2 B C 5", "T A C 5"), "A").segments_to("C") == ("T",)


def test_unreachable_node_has_no_route() -> None:
    routes = tree(Graph([Segment(id="S1", start="A", end="B", length_m=1)], nodes=["C"]), "A")

    assert not routes.reaches("C")
    assert routes.length_to("C") is None
    assert routes.segments_to("C") is None
    with pytest.raises(ValueError, match="no route from 'A' to 'C'"):
        routes.loads({"C": 1})


@pytest.mark.parametrize(
    ("wrong", "message"),
    [
        (lambda: tree(graph("S1 A B 1"), "Q"), "no node 'Q'"),
        (lambda: tree(graph("S1 A B 1"), "A", via=["S7"]), "no segment 'S7'"),
        (lambda: tree(graph("S1 A B 1"), "A", via=["S1", "S1"]), "each segment once, but was S1, S1"),
        (lambda: graph("S1 A B 1", "S1 B C 1"), "segment id 'S1' stands twice"),
        (lambda: graph("S1 A B -1"), "length -1.0 m is not a length"),
        (lambda: graph("S1 A B nan"), "length nan m is not a length"),
        (lambda: graph("S1 A B 1e300"), "length 1e\\+300 m is not a length"),
        (lambda: tree(graph("S1 A B 1"), "A").leave("S1", 1.5), "share 1.5 along segment 'S1'"),
    ],
)
def test_what_is_no_graph_is_refused_by_name_and_value(wrong: object, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        wrong()  # type: ignore[operator]


def test_via_passes_its_segment_in_either_direction() -> None:
    detour = graph(*SQUARE, "V C B 1")

    assert tree(detour, "A", via=["V"]).segments_to("D") == ("S1", "V", "S4")
    assert tree(detour, "A", via=["S4"]).segments_to("D") == ("S3", "S4")
    assert tree(detour, "A", via=["S4"]).segments_to("C") == ("S1", "S2", "S4")


def test_via_passes_segments_in_the_order_given() -> None:
    ring = graph("S1 A B 1", "S2 B C 1", "S3 C D 1", "S4 D A 1")

    assert tree(ring, "A", via=["S1", "S2"]).segments_to("D") == ("S1", "S2", "S3")
    assert tree(ring, "A", via=["S2", "S1"]).segments_to("D") == ("S4", "S3", "S2", "S1", "S4")


def test_via_into_a_dead_end_has_no_way_out() -> None:
    stub = graph("S1 A B 1", "S2 B C 1", "S3 A D 1")

    assert tree(stub, "A", via=["S2"]).segments_to("C") == ("S1", "S2")
    assert tree(stub, "A", via=["S2"]).length_to("D") is None


def test_loads_add_up_along_the_tree() -> None:
    routes = tree(graph("S1 R A 5", "S2 A B 5", "S3 A C 5", "S4 C E 5"), "R")

    assert routes.loads({"B": 2, "E": 3, "A": 1, "R": 7}) == {"S1": 6, "S2": 2, "S3": 3, "S4": 3}
    assert routes.loads({}) == {}


def test_a_cable_that_passes_twice_counts_twice() -> None:
    ring = graph("S1 A B 1", "S2 B C 1", "S3 C D 1", "S4 D A 1")

    assert tree(ring, "A", via=["S2", "S1"]).loads({"D": 1}) == {"S1": 1, "S2": 1, "S3": 1, "S4": 2}


def test_leaving_a_segment_takes_the_shorter_way_in() -> None:
    routes = tree(graph("S1 R A 10", "S2 R B 4", "T A B 20"), "R")

    near_b = routes.leave("T", 0.5)
    near_a = routes.leave("T", 0.25)
    assert near_b is not None
    assert near_a is not None
    assert (near_b.node, near_b.length_m, near_b.segments) == ("B", 14.0, ("S2", "T"))
    assert (near_a.node, near_a.length_m, near_a.segments) == ("A", 15.0, ("S1", "T"))


def test_leaving_at_an_end_does_not_enter_the_segment() -> None:
    routes = tree(graph("S1 R A 10", "T A B 20"), "R")

    at_start, at_end = routes.leave("T", 0.0), routes.leave("T", 1.0)
    assert at_start is not None
    assert at_end is not None
    assert (at_start.segment, at_start.segments) == (None, ("S1",))
    assert (at_end.segments, at_end.length_m) == (("S1", "T"), 30.0)


def test_leaving_the_last_via_segment_on_the_way() -> None:
    routes = tree(graph(*SQUARE), "A", via=["S4"])

    left = routes.leave("S4", 0.5)
    assert left is not None
    assert (left.segments, left.length_m) == (("S3", "S4"), 15.0)
    assert tree(graph(*SQUARE), "A", via=["S4", "S2"]).leave("S4", 0.5) is None


def test_leaving_a_segment_without_a_route() -> None:
    assert tree(graph("S1 A B 1", "S2 C D 1"), "A").leave("S2", 0.5) is None


def random_graph(case: int, *, nodes: int, segments: int) -> tuple[Graph, networkx.MultiGraph]:
    """The same random graph twice, with few different lengths so that ties are common."""
    chance = random.Random(case)
    names = [f"N{i}" for i in range(nodes)]
    other = networkx.MultiGraph()
    other.add_nodes_from(names)
    made = []
    for i in range(segments):
        start, end = chance.sample(names, 2)
        length = chance.randint(0, 3) * FT
        name = f"S{chance.randint(0, 999):03}-{i}"
        made.append(Segment(id=name, start=start, end=end, length_m=length))
        other.add_edge(start, end, key=name, weight=round(length / FT))
    return Graph(made, nodes=names), other


def best_by_rule(other: networkx.MultiGraph, source: str, target: str) -> tuple[int, tuple[str, ...]] | None:
    """All simple paths, listed by an independent library, and the best of them by the tie rule."""
    if source == target:
        return 0, ()
    paths = [tuple(path) for path in networkx.all_simple_edge_paths(other, source, target)]
    ranked = [
        (sum(other.edges[edge]["weight"] for edge in path), len(path), tuple(edge[2] for edge in path))
        for path in paths
    ]
    return (min(ranked)[0], min(ranked)[2]) if ranked else None


@pytest.mark.parametrize("case", range(40))
def test_every_tie_falls_as_when_all_paths_are_listed(case: int) -> None:
    ours, other = random_graph(case, nodes=7, segments=11)
    routes = tree(ours, "N0")

    for node in other.nodes:
        expected = best_by_rule(other, "N0", node)
        found = routes.segments_to(node)
        assert found == (expected and expected[1])
        if expected:
            assert routes.length_to(node) == pytest.approx(expected[0] * FT, abs=1e-9)


@pytest.mark.parametrize("case", range(5))
def test_lengths_agree_with_an_independent_library_on_larger_graphs(case: int) -> None:
    ours, other = random_graph(case, nodes=300, segments=450)
    expected = networkx.single_source_dijkstra_path_length(other, "N0")
    routes = tree(ours, "N0")

    found = {node: routes.length_to(node) for node in other.nodes}

    assert {node for node, length in found.items() if length is not None} == set(expected)
    for node, length in expected.items():
        assert found[node] == pytest.approx(length * FT, abs=1e-9)


def via_by_hand(other: networkx.MultiGraph, target: str, via: list[str]) -> float | None:
    """Both directions of every via segment, joined by legs in the graph without any of them."""
    ends = {key: (a, b) for a, b, key in other.edges(keys=True)}
    weights = {key: data["weight"] for _, _, key, data in other.edges(keys=True, data=True)}
    rest = other.copy()
    rest.remove_edges_from([(*ends[key], key) for key in via])
    legs = dict(networkx.all_pairs_dijkstra_path_length(rest))
    reached = {"N0": 0}
    for key in via:
        onward: dict[str, float] = {}
        for enter, leave in (ends[key], ends[key][::-1]):
            ways = [length + legs[at][enter] + weights[key] for at, length in reached.items() if enter in legs[at]]
            if ways:
                onward[leave] = min([*ways, onward.get(leave, min(ways))])
        reached = onward
    totals = [length + legs[at][target] for at, length in reached.items() if target in legs[at]]
    return min(totals) if totals else None


@pytest.mark.parametrize("case", range(20))
def test_via_lengths_agree_with_legs_joined_by_hand(case: int) -> None:
    ours, other = random_graph(case, nodes=12, segments=22)
    via = random.Random(case).sample(list(ours.ids), 2)
    routes = tree(ours, "N0", via=via)

    for node in other.nodes:
        expected = via_by_hand(other, node, via)
        found = routes.length_to(node)
        assert (found is None) == (expected is None)
        if expected is not None:
            assert found == pytest.approx(expected * FT, abs=1e-9)
            passed = routes.segments_to(node)
            assert passed is not None
            assert [name for name in passed if name in via] == via


@pytest.mark.parametrize("via", [(), ("S1",)])
def test_loads_equal_the_count_over_each_route(via: tuple[str, ...]) -> None:
    ours, _ = random_graph(3, nodes=60, segments=120)
    passed = [name for name in ours.ids if ours.ends[ours.segment_of[name]][0] == ours.node_of["N5"]][:1]
    routes = tree(ours, "N0", via=passed if via else ())
    counts = {f"N{i}": i % 4 for i in range(60) if routes.reaches(f"N{i}")}

    one_by_one: Counter[str] = Counter()
    for node, count in counts.items():
        for name in routes.segments_to(node) or ():
            one_by_one[name] += count

    assert routes.loads(counts) == {name: n for name, n in sorted(one_by_one.items()) if n}


def test_the_order_in_which_segments_are_typed_changes_nothing() -> None:
    ours, _ = random_graph(9, nodes=40, segments=90)
    rows = [
        Segment(id=name, start=ours.nodes[a], end=ours.nodes[b], length_m=nm / 1e9)
        for name, (a, b), nm in zip(ours.ids, ours.ends, ours.nanometers, strict=True)
    ]
    shuffled = rows[:]
    random.Random(1).shuffle(shuffled)

    first, second = tree(Graph(rows), "N0"), tree(Graph(shuffled), "N0")

    assert all(first.segments_to(n) == second.segments_to(n) for n in Graph(rows).nodes)


def test_a_large_job_is_routed_and_filled_in_a_blink() -> None:
    chance = random.Random(0)
    side = 32  # 1,024 nodes in a grid with equal lengths: the most ties there can be
    rows = [
        (f"{x}.{y}", end)
        for x in range(side)
        for y in range(side)
        for end in (f"{x + 1}.{y}", f"{x}.{y + 1}")
        if "32" not in end.split(".")
    ]
    segments = [Segment(id=f"P{i:04}", start=a, end=b, length_m=3.048) for i, (a, b) in enumerate(rows)]
    drops = [(chance.randrange(5), f"{chance.randrange(32)}.{chance.randrange(32)}") for _ in range(10_000)]

    began = time.perf_counter()
    pathways = Graph(segments)
    routes: list[Tree] = [tree(pathways, room) for room in ("0.0", "31.0", "0.31", "31.31", "16.16")]
    lengths = [routes[room].length_to(node) for room, node in drops]
    for room, cable in ((r, c) for r in range(5) for c in range(5)):
        routes[room].loads(Counter(node for at, node in drops[cable::5] if at == room))
    took = time.perf_counter() - began

    assert None not in lengths
    assert took < 1.5  # about 0.05 s on an idle machine; the limit leaves room for a busy one


def test_a_route_is_a_chain_from_room_to_node() -> None:
    ours, _ = random_graph(2, nodes=40, segments=90)
    routes = tree(ours, "N0")

    for node in (n for n in ours.nodes if routes.reaches(n)):
        at = {ours.node_of["N0"]}
        for name in routes.segments_to(node) or ():
            start, end = ours.ends[ours.segment_of[name]]
            at = {other for here, other in ((start, end), (end, start)) if here in at}
        assert ours.node_of[node] in at


def test_expected_length_is_the_sum_of_its_parts() -> None:
    # 40 + 3 + 2.5 + 1 + 0.5 m, and two service loops of 3 m (arithmetic).
    parts = {"route": 40.0, "room_leg": 3.0, "last_leg": 2.5, "slack_room": 1.0, "slack_device": 0.5}

    assert EXPECTED_LENGTH(**parts, loops=2, service_loop=3.0) == 53.0


@pytest.mark.parametrize("case", range(3))
def test_lengths_agree_with_a_numeric_library(case: int) -> None:
    """Reference: scipy's shortest paths over the matrix of the shortest of parallel segments."""
    ours, other = random_graph(case, nodes=200, segments=600)
    names = list(other.nodes)
    place = {name: index for index, name in enumerate(names)}
    shortest: dict[tuple[int, int], float] = {}
    for a, b, data in other.edges(data=True):
        for pair in ((place[a], place[b]), (place[b], place[a])):
            shortest[pair] = min(shortest.get(pair, math.inf), data["weight"] + 1)  # a zero would be no edge
    rows, columns = zip(*shortest, strict=True)
    matrix = scipy.sparse.csr_array((list(shortest.values()), (rows, columns)), shape=(200, 200))
    expected = scipy.sparse.csgraph.dijkstra(matrix, indices=place["N0"])
    longer = Graph(
        (
            Segment(id=name, start=ours.nodes[a], end=ours.nodes[b], length_m=nm / 1e9 + FT)
            for name, (a, b), nm in zip(ours.ids, ours.ends, ours.nanometers, strict=True)
        ),
        nodes=names,
    )
    routes = tree(longer, "N0")

    for name in names:
        found = routes.length_to(name)
        assert (found is None) == math.isinf(expected[place[name]])
        if found is not None:
            assert found / FT == pytest.approx(expected[place[name]], abs=1e-6)


def test_no_route_passes_a_closed_segment() -> None:
    square = graph(*SQUARE, "Z A D 20")

    assert tree(square, "A", closed=["Z"]).segments_to("D") == ("S1", "S2")
    assert tree(square, "A", closed=["Z", "S1"]).segments_to("D") == ("S3", "S4")
    assert tree(square, "A", closed=["Z", "S1", "S3"]).segments_to("D") is None
    assert tree(square, "A", closed=["S1"]).leave("S1", 0.5) is None
    with pytest.raises(ValueError, match="no segment 'Q'"):
        tree(square, "A", closed=["Q"])


LENGTHS = st.integers(0, 500).map(lambda feet: feet * FT)


@settings(max_examples=60, deadline=None)
@given(first=LENGTHS, second=LENGTHS, other=LENGTHS)
def test_a_segment_split_in_two_is_as_long_as_before(first: float, second: float, other: float) -> None:
    """A node drawn halfway changes no route."""
    whole = Graph([Segment(id="S", start="A", end="B", length_m=first + second),
                   Segment(id="T", start="A", end="B", length_m=other)])  # fmt: skip
    split = Graph([Segment(id="S1", start="A", end="M", length_m=first),
                   Segment(id="S2", start="M", end="B", length_m=second),
                   Segment(id="T", start="A", end="B", length_m=other)])  # fmt: skip

    assert tree(split, "A").length_to("B") == pytest.approx(tree(whole, "A").length_to("B"), abs=2e-9)


@settings(max_examples=60, deadline=None)
@given(case=st.integers(0, 10_000), by=st.integers(0, 14), to=st.integers(0, 14))
def test_a_run_split_at_a_node_is_never_shorter(case: int, by: int, to: int) -> None:
    """One route to the node and one on from there are no shorter than the route itself."""
    ours, _ = random_graph(case, nodes=15, segments=26)
    whole = tree(ours, "N0").length_to(f"N{to}")
    halves = (tree(ours, "N0").length_to(f"N{by}"), tree(ours, f"N{by}").length_to(f"N{to}"))

    if whole is not None and None not in halves:
        assert sum(half or 0.0 for half in halves) >= whole - 1e-9


@settings(max_examples=60, deadline=None)
@given(
    route=LENGTHS,
    at=st.floats(0, 1),
    ends=st.lists(LENGTHS, min_size=4, max_size=4),
    loop=LENGTHS,
    loops=st.sampled_from([0, 1, 2]),
)
def test_two_runs_instead_of_one_are_never_shorter(
    route: float, at: float, ends: list[float], loop: float, loops: int
) -> None:
    """Each half has legs, slack and loops of its own."""
    parts = dict(zip(("room_leg", "last_leg", "slack_room", "slack_device"), ends, strict=True))
    whole, first, second = (
        EXPECTED_LENGTH(route=part, **parts, loops=loops, service_loop=loop)
        for part in (route, route * at, route * (1 - at))
    )

    assert first + second >= whole - 1e-9


@settings(max_examples=60, deadline=None)
@given(case=st.integers(0, 10_000), shut=st.integers(0, 25))
def test_closing_a_segment_never_shortens_a_route(case: int, shut: int) -> None:
    ours, _ = random_graph(case, nodes=15, segments=26)
    before, after = tree(ours, "N0"), tree(ours, "N0", closed=[ours.ids[shut]])

    for node in ours.nodes:
        if (length := after.length_to(node)) is not None:
            assert length >= (before.length_to(node) or 0.0)
            assert ours.ids[shut] not in (after.segments_to(node) or ())
