"""Preload and tightening torque of screws, and the length of thread they need in iron.

`strength`, `proof_load`, `tensile_load`, `head_face`; `assembly_preload`, `torque_for_preload`, `preload_from_torque`, `torque_split`,
`tightening`, `torque_range`, `proof_share`, `yield_share`; the K form `torque_by_factor`, `preload_by_factor`; `engagement_needed`,
`stripping_force`. Lengths mm, forces N, stresses MPa, torque N·m. The torque at 90 % of yield is a ceiling, never a target: a gasketed
flange has its own limit, iron threads theirs.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import isfinite, pi, sqrt, tan
from typing import Literal

from calc import hardware, tables
from calc.hardware import INCH, Thread

MILLIMETRES_PER_METRE = 1000.0
KPSI = 6.894757
"""One kpsi [MPa]."""
CEILING = 0.9
"""Share of the yield strength that tension and torsion together may reach (VDI 2230-1)."""
FLANK = 1.155
"""1 / cos 30°, as the guideline prints it: friction on a 60° thread acts on inclined flanks."""
PITCH_TERM, THREAD_TERM = 0.16, 0.58
"""1 / (2 pi) and 1.155 / 2 as the guideline prints them."""
MOST_FRICTION = 0.5
"""Above this a friction coefficient is a slip of the pen or a seized thread [1]."""
AVERAGE_FACTOR, LUBRICATED_FACTOR = 0.20, 0.15
"""Torque factor K of the short form T = K F d [1]: Shigley 9e, eq. 8-27 (average); lubricated: common practice."""
REUSED_PRELOAD = 0.75
"""Share of the proof load for screws that are taken out again [1]: Shigley 9e, eq. 8-31."""
IRON_SHEAR_SHARE = 0.6
"""Shear strength over tensile strength of cast iron taken for threads [1]: common practice on the safe side, no source. EN 1561 and
EN 1563 print about 1.15 (grey) and 0.9 (spheroidal, from memory) for cast test bars, but thick walls fall short of the bar."""
WEAK_NUT = 0.897
"""Least factor for the bending open of weaker internal threads [1]: C3 of Alexander's stripping model, SAE 770420, VDI 2230-1 5.5.5."""
END_PITCHES = 0.8
"""Pitches lost to the chamfer and the incomplete first thread [1]: VDI 2230-1 5.5.5, from memory."""
THIRTY_DEGREES = pi / 6.0

Head = Literal["socket", "hexagon"]


class BoltRefused(ValueError):
    """An input outside its range: field, value given, what is accepted."""

    def __init__(self, field: str, given: object, accepted: str) -> None:
        self.field, self.given, self.accepted = field, given, accepted
        super().__init__(f"{field}: {given}: accepted: {accepted}")


@dataclass(frozen=True)
class Strength:
    """Least strengths of a screw [MPa]: tensile, 0.2 % proof strength (yield), stress under proof load."""

    property_class: str
    tensile: float
    yield_strength: float
    proof: float


@dataclass(frozen=True)
class TorqueSplit:
    """What a tightening torque goes into, as shares that sum to 1 [1]: lifting along the pitch, thread friction, head friction."""

    pitch: float
    thread: float
    head: float


@dataclass(frozen=True)
class Tightening:
    """Ceiling of one screw: preload [N], torque [N·m], share of the proof load [1], where the torque goes."""

    preload: float
    torque: float
    proof_share: float
    split: TorqueSplit


@dataclass(frozen=True)
class TorqueRange:
    """A torque over a range of friction.

    ceiling: the torque that reaches the stress limit where friction is least [N·m]; preload_most, preload_least: what that one torque
    gives at the least and the most friction [N]; scatter: their ratio [1].
    """

    ceiling: float
    preload_most: float
    preload_least: float

    @property
    def scatter(self) -> float:
        """Most over least preload [1]."""
        return self.preload_most / self.preload_least


@dataclass(frozen=True)
class Engagement:
    """Thread length in iron [mm]: full threads, with the lost end threads, and full threads over the screw's diameter [1]."""

    full_threads: float
    with_ends: float
    diameters: float


def _positive(**values: float) -> None:
    for name, value in values.items():
        if not (isfinite(value) and value > 0.0):
            raise BoltRefused(name.replace("_", " "), value, "more than 0")


def _friction(**values: float) -> None:
    for name, value in values.items():
        if not 0.0 < value <= MOST_FRICTION:
            raise BoltRefused(name.replace("_", " "), value, f"more than 0, up to {MOST_FRICTION}")


def _thread(screw: str | Thread) -> Thread:
    return hardware.thread(screw) if isinstance(screw, str) else screw


def strength(screw: str | Thread, property_class: str) -> Strength:
    """Least strengths of a screw by property class or inch grade.

    screw: "M12", "M12x1.25", "5/8-11 UNC" or a Thread [-]
    property_class: "8.8", "10.9", ... or "grade 5", "grade 8" [-]
    Result: Strength [MPa]. Range: up to 39 mm; inch grades up to 1 in. Source: ISO 898-1:2013 Table 3; SAE J429.
    tables/property_classes.csv, sae_grades.csv.

    >>> strength("M20", "8.8").yield_strength
    660.0
    """
    diameter = _thread(screw).diameter
    names = []
    for name, size, stress in (("property_classes", 1.0, 1.0), ("sae_grades", INCH, KPSI)):
        for row in tables.load(name).records():
            names.append(row["class"])
            held = float(row["over"]) * size < diameter <= float(row["up_to"]) * size + 1e-6
            if row["class"] == property_class and held:
                return Strength(property_class, *(float(row[column]) * stress for column in ("tensile", "yield_strength", "proof")))
    accepted = ", ".join(dict.fromkeys(names))
    if property_class in names:
        raise BoltRefused("screw", _thread(screw).designation, f"a size that the table of {property_class} holds")
    raise BoltRefused("property class", property_class, accepted)


def proof_load(screw: str | Thread, property_class: str) -> float:
    """Load a screw must carry without lasting stretch: Fp = As Sp.

    screw: designation or Thread [-]
    property_class: as `strength` [-]
    Result: proof load [N]. Range: as `strength`; the printed tables round to three digits. Source: ISO 898-1:2013 Table 5.

    >>> round(proof_load("M12", "8.8"))
    48875
    """
    return _thread(screw).stress_area * strength(screw, property_class).proof


def tensile_load(screw: str | Thread, property_class: str) -> float:
    """Least load at which a screw breaks: Fm = As Rm.

    screw: designation or Thread [-]
    property_class: as `strength` [-]
    Result: breaking load [N]. Range: as `strength`. Source: ISO 898-1:2013 Table 4.

    >>> round(tensile_load("M12", "10.9"))
    87637
    """
    return _thread(screw).stress_area * strength(screw, property_class).tensile


def head_face(screw: str | Thread, head: Head = "socket") -> float:
    """Least outside diameter of the face under a screw head, dw.

    screw: designation or Thread, metric [-]
    head: "socket" or "hexagon" [-]
    Result: diameter [mm]. Range: M5 to M30. Source: ISO 4762, ISO 4014, from memory; tables/screw_heads.csv.

    >>> head_face("M12x1.25", "hexagon")
    16.63
    """
    if head not in ("socket", "hexagon"):
        raise BoltRefused("head", head, "socket, hexagon")
    held = _thread(screw)
    rows = {row["size"]: row for row in tables.load("screw_heads").records()}
    row = rows.get(f"M{held.diameter:g}")
    if row is None:
        raise BoltRefused("screw", held.designation, f"{', '.join(rows)}; else give the head diameter and the hole")
    return float(row[head])


def assembly_preload(screw: str | Thread, property_class: str, thread_friction: float, *, utilisation: float = CEILING) -> float:
    """Preload at which tension and torsion while tightening reach a share of the yield strength.

    FM = As k Rp / sqrt(1 + 3 [1.5 (d2/ds) (P/(pi d2) + 1.155 muG)]^2), ds = (d2 + d3)/2.

    screw: designation or Thread [-]
    property_class: as `strength` [-]
    thread_friction: friction coefficient in the thread muG [1]
    utilisation: share k of the yield strength [1]
    Result: preload [N]. Range: friction more than 0, up to 0.5; utilisation more than 0, up to 1; shank not thinner than ds.
    Source: VDI 2230-1:2015 section 5.4.3 and Table A1.

    >>> round(assembly_preload("M12", "8.8", 0.12) / 1000.0, 1)
    43.1
    """
    _friction(thread_friction=thread_friction)
    if not 0.0 < utilisation <= 1.0:
        raise BoltRefused("utilisation", utilisation, "more than 0, up to 1")
    held = _thread(screw)
    limit = utilisation * strength(held, property_class).yield_strength
    return limit * held.stress_area / _combined(held, thread_friction)


def _combined(held: Thread, thread_friction: float) -> float:
    """Combined stress over tension while the screw turns [1]."""
    middle = (held.pitch_diameter + held.root_diameter) / 2.0
    slope = held.pitch / (pi * held.pitch_diameter) + FLANK * thread_friction
    return sqrt(1.0 + 3.0 * (1.5 * held.pitch_diameter / middle * slope) ** 2)


def _arms(
    held: Thread, thread_friction: float, head_friction: float, head_diameter: float, hole: float
) -> tuple[float, float, float]:
    """Torque per preload for pitch, thread friction, head friction [mm]."""
    _friction(thread_friction=thread_friction, head_friction=head_friction)
    _positive(head_diameter=head_diameter, hole=hole)
    if not hole < head_diameter:
        raise BoltRefused("hole", hole, f"smaller than the head diameter {head_diameter:g} mm")
    mean = (head_diameter + hole) / 2.0
    return PITCH_TERM * held.pitch, THREAD_TERM * held.pitch_diameter * thread_friction, mean / 2.0 * head_friction


def torque_for_preload(
    preload: float, screw: str | Thread, *, thread_friction: float, head_friction: float, head_diameter: float, hole: float
) -> float:
    """Torque that gives a preload: MA = FM (0.16 P + 0.58 d2 muG + DKm/2 muK), DKm = (dw + dh)/2.

    preload: F [N]
    screw: designation or Thread [-]
    thread_friction: friction coefficient in the thread [1]
    head_friction: friction coefficient under the head [1]
    head_diameter: outside diameter of the face under the head dw [mm]
    hole: diameter of the through hole dh [mm]
    Result: torque [N·m]. Range: friction more than 0, up to 0.5; hole smaller than the head. Source: VDI 2230-1:2015 section 5.4.3.

    >>> round(torque_for_preload(43000.0, "M12", thread_friction=0.12, head_friction=0.12, head_diameter=16.63, hole=13.5), 1)
    83.4
    """
    _positive(preload=preload)
    return preload * sum(_arms(_thread(screw), thread_friction, head_friction, head_diameter, hole)) / MILLIMETRES_PER_METRE


def preload_from_torque(
    torque: float, screw: str | Thread, *, thread_friction: float, head_friction: float, head_diameter: float, hole: float
) -> float:
    """Preload that a torque gives: F = MA / (0.16 P + 0.58 d2 muG + DKm/2 muK).

    torque: tightening torque [N·m]
    screw: designation or Thread [-]
    thread_friction: friction coefficient in the thread [1]
    head_friction: friction coefficient under the head [1]
    head_diameter: outside diameter of the face under the head dw [mm]
    hole: diameter of the through hole dh [mm]
    Result: preload [N]. Range: as `torque_for_preload`, of which this is the inverse. Source: as there.

    >>> round(preload_from_torque(83.4, "M12", thread_friction=0.12, head_friction=0.12, head_diameter=16.63, hole=13.5) / 1000.0, 1)
    43.0
    """
    _positive(torque=torque)
    return torque * MILLIMETRES_PER_METRE / sum(_arms(_thread(screw), thread_friction, head_friction, head_diameter, hole))


def torque_split(
    screw: str | Thread, *, thread_friction: float, head_friction: float, head_diameter: float, hole: float
) -> TorqueSplit:
    """Where a tightening torque goes: the three terms of `torque_for_preload` over their sum.

    screw: designation or Thread [-]
    thread_friction: friction coefficient in the thread [1]
    head_friction: friction coefficient under the head [1]
    head_diameter: outside diameter of the face under the head dw [mm]
    hole: diameter of the through hole dh [mm]
    Result: TorqueSplit [1]. Range: as `torque_for_preload`. Source: as there.

    >>> round(torque_split("M12", thread_friction=0.12, head_friction=0.12, head_diameter=16.6, hole=13.5).pitch, 2)
    0.14
    """
    arms = _arms(_thread(screw), thread_friction, head_friction, head_diameter, hole)
    return TorqueSplit(*(arm / sum(arms) for arm in arms))


def _faces(held: Thread, head: Head, head_diameter: float | None, hole: float | None) -> tuple[float, float]:
    face = head_face(held, head) if head_diameter is None else head_diameter
    if hole is None:
        whole = f"M{held.diameter:g}" if held.designation.startswith("M") else held.designation
        hole = hardware.clearance_hole(whole)
    return face, hole


def tightening(
    screw: str | Thread,
    property_class: str,
    thread_friction: float,
    *,
    head_friction: float | None = None,
    head: Head = "socket",
    head_diameter: float | None = None,
    hole: float | None = None,
    utilisation: float = CEILING,
) -> Tightening:
    """Ceiling of one screw at one friction: `assembly_preload` and the torque that gives it.

    screw: designation or Thread [-]
    property_class: as `strength` [-]
    thread_friction: friction coefficient in the thread [1]
    head_friction: under the head; that of the thread when not given [1]
    head: head form that gives the face when head_diameter is not given, "socket" or "hexagon" [-]
    head_diameter: outside diameter of the face under the head dw [mm]
    hole: through hole; the medium clearance hole when not given [mm]
    utilisation: share of the yield strength [1]
    Result: Tightening [N, N·m, 1]. Range: as `torque_for_preload`. Source: VDI 2230-1:2015 Table A1.

    >>> round(tightening("M12", "8.8", 0.12, head="hexagon").torque)
    84
    """
    held = _thread(screw)
    face, through = _faces(held, head, head_diameter, hole)
    under = thread_friction if head_friction is None else head_friction
    preload = assembly_preload(held, property_class, thread_friction, utilisation=utilisation)
    split = torque_split(held, thread_friction=thread_friction, head_friction=under, head_diameter=face, hole=through)
    torque = torque_for_preload(
        preload, held, thread_friction=thread_friction, head_friction=under, head_diameter=face, hole=through
    )
    return Tightening(preload, torque, proof_share(preload, held, property_class), split)


def torque_range(
    screw: str | Thread,
    property_class: str,
    friction: tuple[float, float],
    *,
    head: Head = "socket",
    head_diameter: float | None = None,
    hole: float | None = None,
    utilisation: float = CEILING,
) -> TorqueRange:
    """Highest torque that stays under the stress limit everywhere in a range of friction, and the preloads it may give.

    The slipperiest screw is loaded most by a given torque, so the least friction sets the ceiling.

    screw: designation or Thread [-]
    property_class: as `strength` [-]
    friction: least and most friction coefficient, thread and head alike [1]
    head: head form, "socket" or "hexagon" [-]
    head_diameter: outside diameter of the face under the head dw [mm]
    hole: through hole; the medium clearance hole when not given [mm]
    utilisation: share of the yield strength [1]
    Result: TorqueRange [N·m, N]. Range: as `torque_for_preload`. Source: VDI 2230-1:2015 section 5.4.3.

    >>> round(torque_range("M12", "8.8", (0.10, 0.16)).scatter, 2)
    1.5
    """
    least, most = friction
    if least > most:
        raise BoltRefused("friction", friction, "the smaller coefficient first")
    held = _thread(screw)
    face, through = _faces(held, head, head_diameter, hole)
    slippery = tightening(held, property_class, least, head_diameter=face, hole=through, utilisation=utilisation)
    poor = preload_from_torque(slippery.torque, held, thread_friction=most, head_friction=most, head_diameter=face, hole=through)
    return TorqueRange(slippery.torque, slippery.preload, poor)


def proof_share(preload: float, screw: str | Thread, property_class: str) -> float:
    """Preload as a share of the proof load: F / (As Sp).

    preload: F [N]
    screw: designation or Thread [-]
    property_class: as `strength` [-]
    Result: share [1]. Range: preload more than 0. Source: ISO 898-1:2013 Table 5.

    >>> round(proof_share(36670.0, "M12", "8.8"), 2)
    0.75
    """
    _positive(preload=preload)
    return preload / proof_load(screw, property_class)


def yield_share(preload: float, screw: str | Thread, property_class: str, *, thread_friction: float) -> float:
    """Tension and torsion together while tightening, as a share of the yield strength: 0.9 at the ceiling.

    preload: F [N]
    screw: designation or Thread [-]
    property_class: as `strength` [-]
    thread_friction: friction coefficient in the thread [1]
    Result: share [1]. Range: as `assembly_preload`, of which this is the inverse. Source: VDI 2230-1:2015 section 5.4.3.

    >>> round(yield_share(43110.0, "M12", "8.8", thread_friction=0.12), 2)
    0.9
    """
    _positive(preload=preload)
    return preload / assembly_preload(screw, property_class, thread_friction, utilisation=1.0)


def torque_by_factor(preload: float, diameter: float, factor: float = AVERAGE_FACTOR) -> float:
    """Torque by the short form T = K F d.

    preload: F [N]
    diameter: nominal thread diameter d [mm]
    factor: torque factor K: 0.20 average, 0.15 lubricated [1]
    Result: torque [N·m]. Range: all more than 0; scatters by a quarter either way. Source: Shigley 9e, eq. 8-27.

    >>> round(torque_by_factor(36670.0, 12.0), 1)
    88.0
    """
    _positive(preload=preload, diameter=diameter, factor=factor)
    return factor * preload * diameter / MILLIMETRES_PER_METRE


def preload_by_factor(torque: float, diameter: float, factor: float = AVERAGE_FACTOR) -> float:
    """Preload by the short form F = T / (K d).

    torque: tightening torque T [N·m]
    diameter: nominal thread diameter d [mm]
    factor: torque factor K: 0.20 average, 0.15 lubricated [1]
    Result: preload [N]. Range: as `torque_by_factor`, of which this is the inverse. Source: as there.

    >>> round(preload_by_factor(88.0, 12.0))
    36667
    """
    _positive(torque=torque, diameter=diameter, factor=factor)
    return torque * MILLIMETRES_PER_METRE / (factor * diameter)


def _stripping_per_length(held: Thread, iron_strength: float, shear_share: float) -> float:
    """Force that strips one millimetre of full internal thread [N/mm]."""
    _positive(iron_strength=iron_strength)
    if not 0.0 < shear_share <= 1.5:
        raise BoltRefused("shear share", shear_share, "more than 0, up to 1.5")
    tooth = held.pitch / 2.0 + (held.diameter - held.pitch_diameter) * tan(THIRTY_DEGREES)
    return WEAK_NUT * shear_share * iron_strength * pi * held.diameter * tooth / held.pitch


def stripping_force(
    screw: str | Thread, engagement: float, *, iron_strength: float, shear_share: float = IRON_SHEAR_SHARE
) -> float:
    """Force that strips the internal thread of an iron part: F = C3 tau (pi d m / P) [P/2 + (d - D2) tan 30°].

    screw: designation or Thread [-]
    engagement: length of full threads in mesh m [mm]
    iron_strength: tensile strength of the iron where the hole is [MPa]
    shear_share: shear over tensile strength [1]
    Result: force [N]. Range: iron weaker than the screw, wall at least as thick as half the screw (no dilation of the boss).
    Source: VDI 2230-1:2015 section 5.5.5 after Alexander, SAE 770420 (formulas from memory); basic sizes; shear share: common practice.

    >>> round(stripping_force("M12", 18.0, iron_strength=250.0) / 1000.0, 1)
    79.9
    """
    _positive(engagement=engagement)
    return engagement * _stripping_per_length(_thread(screw), iron_strength, shear_share)


def engagement_needed(
    screw: str | Thread,
    property_class: str,
    *,
    iron_strength: float,
    shear_share: float = IRON_SHEAR_SHARE,
    force: float | None = None,
) -> Engagement:
    """Thread length in iron at which the screw breaks before the thread strips: m = As Rm / (stripping force per length).

    screw: designation or Thread [-]
    property_class: as `strength` [-]
    iron_strength: tensile strength of the iron where the hole is [MPa]
    shear_share: shear over tensile strength [1]
    force: force to hold instead of the screw's breaking load [N]
    Result: Engagement [mm, 1]. Range: as `stripping_force`. Source: as `stripping_force`; 0.8 P more for the ends of the hole.

    >>> round(engagement_needed("M12", "8.8", iron_strength=250.0).diameters, 2)
    1.27
    """
    held = _thread(screw)
    load = tensile_load(held, property_class) if force is None else force
    _positive(force=load)
    full = load / _stripping_per_length(held, iron_strength, shear_share)
    return Engagement(full, full + END_PITCHES * held.pitch, full / held.diameter)
