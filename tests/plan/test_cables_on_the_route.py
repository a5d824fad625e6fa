"""Cables: where their vaults stand on the route, and what cannot be taken for a cable or a place of one."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from groundlint.plan.models import Cable, Vault
from groundlint.reading.resolve import read_plan
from groundlint.text import Source

HEAD = """\
line Larkspur
  phases A B C
  neutral N multigrounded
  route 211 (50 m) 212 (100 m) 213 (60 m) 214
structure 211..214 wood pole
mat M1
crew lineman L1
"""


def read(*lines: str, head: str = HEAD) -> tuple[list[str], list[tuple[str, float | None]]]:
    """Codes of the diagnostics; the route with the lengths that follow, in whole metres."""
    found = read_plan(Source("plan.tpg", head + "".join(f"{line}\n" for line in lines)))
    assert bool(found.diagnostics) is found.plan.unread
    route = [(s.name, None if s.span_after is None else round(s.span_after)) for s in found.plan.route]
    assert [s.order for s in found.plan.route] == list(range(len(route)))
    return [d.code for d in found.diagnostics], route


@pytest.mark.parametrize(
    ("line", "route"),
    [
        ("cable UG1 from 212 to 213", "211 50 212 100 213 60 214"),
        ("cable UG1 from 212 to 213 by MH1 (60 m)", "211 50 212 40 MH1 60 213 60 214"),
        ("cable UG1 from 213 to 212 by MH1 (60 m)", "211 50 212 60 MH1 40 213 60 214"),
        ("cable UG1 from 212 to 213 by MH1 (60 m) MH2 (30 m)", "211 50 212 10 MH1 60 MH2 30 213 60 214"),
        ("cable UG1 from 213 to 212 by MH1 (60 m) MH2 (30 m)", "211 50 212 30 MH2 60 MH1 10 213 60 214"),
        ("cable UG1 from 212 to 213 by MH1 (60 m) MH2", "211 50 212 - MH1 60 MH2 - 213 60 214"),
        ("cable UG1 from 212 to 213 by MH1", "211 50 212 - MH1 - 213 60 214"),
    ],
)
def test_vaults_take_their_places_between_the_terminals(line: str, route: str) -> None:
    codes, found = read(line)
    assert codes == []
    words = [word for name, length in found for word in (name, "-" if length is None else str(length))][:-1]
    assert " ".join(words) == route


def test_cables_may_follow_one_another() -> None:
    codes, route = read("cable UG1 from 212 to 213 by MH1", "cable UG2 from 214 to 213 by MH2")
    assert codes == []
    assert [name for name, _ in route] == ["211", "212", "MH1", "213", "MH2", "214"]


@pytest.mark.parametrize(
    ("lines", "code"),
    [
        (["cable UG1 by MH1"], "which-terminals"),
        (["cable UG1 from 211 to 213"], "not-a-span"),
        (["cable UG1 from 212 to 212"], "not-a-span"),
        (["cable UG1 from 212 to 215"], "not-a-span"),
        (["cable UG1 from 212 to 213", "cable UG2 from 213 to 212"], "declared-twice"),
        (["cable UG1 from 212 to 213 by MH1", "cable UG2 from 213 to 214 by MH1"], "declared-twice"),
        (["cable UG1 from 212 to 213 by 211"], "declared-twice"),
        (["cable UG1 from 212 to 213 by MH1 MH1"], "declared-twice"),
        (["cable UG1 from 212 to 213 by MH1", "structure MH1 wood pole"], "declared-twice"),
        (["cable M1 from 212 to 213"], "declared-twice"),
        (["cable UG1 from 212 to 213 by MH1 (100 m)"], "longer-than-its-span"),
        (["cable UG1 from 212 to 213 by MH1 (0 m)"], "not-positive"),
        (["cable UG1 from 212 to 213 by MH1", "spike UG1 at 211"], "not-on-the-cable"),
        (["cable UG1 from 212 to 213 by MH1", "spike L1 at MH1"], "wrong-kind"),
        (["cable UG1 from 212 to 213 by MH1", "spike UG1 at M1"], "wrong-kind"),
        (["spike UG1 at 212"], "undeclared-name"),
        (["cable UG1 from 212 to 213 by MH1", "enter L1 at MH1 on the pole, reaching A"], "not-in-a-vault"),
        (["cable UG1 from 212 to 213 by MH1", "enter L1 at MH1 on M1, reaching A and the guy"], "not-in-a-vault"),
        (["enter L1 at MH1 on M1, reaching nothing"], "undeclared-name"),
    ],
)
def test_what_is_no_cable_or_no_place_of_one_is_reported_and_unread(lines: list[str], code: str) -> None:
    codes, _ = read(*lines)
    assert code in codes


def test_without_a_route_a_vault_has_no_place_on_it() -> None:
    head = HEAD.replace("  route 211 (50 m) 212 (100 m) 213 (60 m) 214\n", "")
    found = read_plan(Source("plan.tpg", head + "cable UG1 from 212 to 213 by MH1 (60 m)\nspike UG1 at MH1\n"))
    assert found.diagnostics == ()
    (vault,) = found.plan.of(Vault)
    assert isinstance(vault, Vault)
    assert vault.order is None


def test_terminals_may_be_open_values_with_defaults() -> None:
    codes, route = read("given pole as structure default 212", "cable UG1 from pole to 213 by MH1")
    assert codes == []
    assert ("MH1", None) in route


def test_a_routine_takes_a_cable_and_a_vault() -> None:
    lines = ("cable UG1 from 212 to 213 by MH1", "routine prove (cable C, structure S)", "  spike C at S")
    found = read_plan(Source("plan.tpg", HEAD + "\n".join((*lines, "do prove (UG1 MH1)", ""))))
    assert found.diagnostics == ()
    (step,) = found.plan.actions
    assert (step.kind, str(step.slots["cable"]), str(step.slots["structure"])) == ("spike", "UG1", "MH1")


@settings(max_examples=40)
@given(st.lists(st.integers(1, 400), min_size=1, max_size=6), st.booleans())
def test_the_pieces_of_a_cable_are_as_long_as_its_span(pieces: list[int], back: bool) -> None:
    whole = sum(pieces)
    by = " ".join(f"MH{n} ({length} m)" for n, length in enumerate(pieces[1:], 1))
    ends = "213 to 212" if back else "212 to 213"
    head = HEAD.replace("212 (100 m)", f"212 ({whole} m)")
    codes, route = read(f"cable UG1 from {ends}" + (f" by {by}" if by else ""), head=head)
    assert codes == []
    names = [name for name, _ in route]
    between = route[names.index("212") : names.index("213")]
    assert [length for _, length in between] == (pieces[::-1] if back else pieces)


@pytest.mark.parametrize(
    ("words", "transfer"),
    [("", None), ("transfer of potential possible", True), ("Transfer of potential NOT possible", False)],
)
def test_whether_a_transfer_is_possible_is_as_the_plan_says(words: str, transfer: bool | None) -> None:
    (cable,) = read_plan(Source("plan.tpg", f"{HEAD}cable UG1 from 212 to 213 {words}\n")).plan.of(Cable)
    assert isinstance(cable, Cable)
    assert cable.transfer is transfer
