"""A loose piece slid out level: past a corner only where it is short enough, turned on the way where it is too long to go as it lies."""

from __future__ import annotations

from math import sqrt

import pytest

from geometry.bill import on_low
from geometry.blocking import Table
from geometry.part import Part, Spec
from geometry.reducer import assemble
from geometry.sliding import slides_out
from scenes.examples import open_machine

WAY, BAR = 30.0, 6.0
"""Width of both legs of the way, of the bar [mm]."""
LONGEST = 2.0 * (sqrt(2.0) * WAY - BAR)
"""Longest bar that goes round a right-angled corner between ways of one width [mm]: at half a right angle its inner side lies on the
inner corner, its outer corners on the outer walls."""


@pytest.fixture(scope="module")
def table() -> Table:
    return Table(assemble(open_machine("millrace")[0]), 0.5)


def part(name: str, spec: Spec, x: float = 0.0, y: float = 0.0) -> Part:
    return Part(name=name, role="tool", spec=spec, pose=on_low(0.0, 0.0, False, (x, y)), bench="case", wording="")


def corner(leg: float, far: float) -> list[Part]:
    """A way from a blind end at x = -leg along x to a corner at the origin, then out along -y; walls 20 mm."""
    half, low = WAY / 2.0, -leg - 20.0
    boxes = {
        "top": ((low, half), (half + 20.0, half + 20.0)),
        "blind": ((low, -half), (-leg, half)),
        "inner": ((low, -far), (-half, -half)),
        "outer": ((half, -far), (half + 20.0, half)),
    }
    return [part(name, Spec("steel", add=(("box", (*a, 0.0), (*b, 20.0)),))) for name, (a, b) in boxes.items()]


def bar(length: float, across: bool = False) -> Spec:
    x, y = (BAR, length) if across else (length, BAR)
    return Spec("steel", add=(("box", (-x / 2.0, -y / 2.0, 0.0), (x / 2.0, y / 2.0, 10.0)),))


@pytest.mark.parametrize(
    ("length", "as_it_lies", "turned"),
    [(0.8 * WAY, True, True), (1.3 * WAY, False, True), (0.75 * LONGEST, False, True), (1.05 * LONGEST, False, False)],
)
def test_a_bar_goes_round_a_corner_when_it_is_shorter_than_the_corner_lets_pass(
    table: Table, length: float, as_it_lies: bool, turned: bool
) -> None:
    standing, piece = corner(leg=200.0, far=200.0), part("bar", bar(length), x=-120.0)
    assert slides_out(table, piece, standing, (0.0, -1.0, 0.0), turning=False) is as_it_lies
    assert slides_out(table, piece, standing, (0.0, -1.0, 0.0)) is turned


def test_a_bar_shut_in_on_all_sides_does_not_come_out_however_it_is_turned(table: Table) -> None:
    lid = part("lid", Spec("steel", add=(("box", (-WAY, -260.0, 0.0), (WAY, -190.0, 20.0)),)))
    piece = part("bar", bar(1.3 * WAY), x=-120.0)
    assert not slides_out(table, piece, [*corner(200.0, 200.0), lid], (0.0, -1.0, 0.0))


def room(half: float, thick: float, door: float) -> list[Part]:
    """Walls about a square, in the one toward -y a door."""
    far = half + thick
    boxes = [
        ((-far, half), (far, far)),
        ((-far, -far), (-half, far)),
        ((half, -far), (far, far)),
        ((-far, -far), (-door / 2.0, -half)),
        ((door / 2.0, -far), (far, -half)),
    ]
    return [part(f"wall_{n}", Spec("steel", add=(("box", (*a, 0.0), (*b, 20.0)),))) for n, (a, b) in enumerate(boxes)]


@pytest.mark.parametrize(("pitches", "half"), [(1.5, 20.0), (1.5, 20.3), (1.6, 20.0), (1.6, 20.3), (2.0, 20.25), (4.0, 20.0)])
def test_no_wall_is_too_thin_to_keep_a_bar_in_a_room(table: Table, pitches: float, half: float) -> None:
    """A room in which the bar turns freely; a wall of more than one pitch has a line in it wherever it stands."""
    thick = pitches * table.pitch
    piece = part("bar", bar(WAY))
    assert not slides_out(table, piece, room(half, thick, door=0.0), (0.0, -1.0, 0.0))
    assert not slides_out(table, piece, room(half, thick, door=BAR - 2.0), (0.0, -1.0, 0.0))


@pytest.mark.parametrize("thick", [0.75, 2.0])
def test_a_bar_goes_out_end_first_by_a_door_wider_than_it(table: Table, thick: float) -> None:
    walls, piece = room(60.0, thick, door=BAR + 10.0), part("bar", bar(50.0))
    assert slides_out(table, piece, walls, (0.0, -1.0, 0.0))
    assert not slides_out(table, piece, walls, (0.0, -1.0, 0.0), turning=False)


@pytest.mark.parametrize("gap", [0.6, 1.0])
def test_a_bar_close_between_two_walls_comes_out_along_them(table: Table, gap: float) -> None:
    """`gap`: between the bar and either wall, little more than a pitch."""
    inner = BAR / 2.0 + gap
    walls = [
        part(f"wall_{n}", Spec("steel", add=(("box", (-60.0, *a), (60.0, *b)),)))
        for n, (a, b) in enumerate([((inner, 0.0), (inner + 20.0, 20.0)), ((-inner - 20.0, 0.0), (-inner, 20.0))])
    ]
    assert slides_out(table, part("bar", bar(50.0)), walls, (1.0, 0.0, 0.0), turning=False)
