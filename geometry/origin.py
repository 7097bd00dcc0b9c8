"""Which section of the machine file a part comes from, and the refusal of a part that can't be built."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager

from geometry.faults import MachineError

ORIGINS = (
    ("pinion_gasket", "gaskets"), ("gear_gasket", "gaskets"), ("high_speed_float_gasket", "gaskets"), ("low_speed_float_gasket", "gaskets"),
    ("pinion_key", "pinion.key"), ("gear_key", "gear.key"), ("gear_spacer", "spacers"), ("pinion_tab", "high_speed_shaft"),
    ("pinion_locknut", "high_speed_shaft"), ("pinion", "pinion"), ("gear", "gear"), ("high_speed_shaft", "high_speed_shaft"),
    ("high_speed_sleeve", "spacers"), ("high_speed_thrower", "spacers"), ("high_speed_coupling_key", "high_speed_shaft.coupling_key"),
    ("high_speed_inner_spacer", "high_speed_pair"), ("high_speed_outer_spacer", "high_speed_pair"), ("high_speed_bearing", "high_speed_pair"),
    ("high_speed_cover", "high_speed_cover"), ("high_speed_seal", "high_speed_cover"), ("high_speed", "high_speed_shaft"),
    ("cartridge", "high_speed_cartridge"), ("inner_retainer", "high_speed_cartridge.retainer"), ("inner_bearing", "inner_bearing"),
    ("lower_bearing", "lower_bearing"), ("lower_thrower", "spacers"), ("lower_retainer", "carrier.retainer"),
    ("lower_locknut", "low_speed_shaft"), ("lower_tab", "low_speed_shaft"), ("low_speed_shaft", "low_speed_shaft"),
    ("low_speed_coupling_key", "low_speed_shaft.coupling_key"), ("low_speed_inner_spacer", "low_speed_pair"),
    ("low_speed_outer_spacer", "low_speed_pair"), ("low_speed_bearing", "low_speed_pair"), ("low_speed_cover", "low_speed_cover"),
    ("low_speed_seal", "low_speed_cover"), ("low_speed_cartridge", "low_speed_cartridge"), ("low_speed", "low_speed_shaft"),
    ("carrier", "carrier"), ("oil_pump", "carrier"), ("pump", "carrier"), ("packer", "spacers"),
)  # fmt: skip
"""Beginning of a part's name and its section; the first that fits counts, everything else belongs to the case."""


def section_of(part: str) -> str:
    """Section of the machine file that a part's dimensions come from."""
    return next((section for start, section in ORIGINS if part == start or part.startswith(f"{start}_")), "case")


def refusal(part: str, error: Exception) -> str:
    """The finished line for a part that can't be built."""
    cause, _, accepted = " ".join(str(error).split()).partition("accepted: ")
    return f"{section_of(part)}: {part} can't be built: {cause.rstrip(' :')[:160]}: accepted: {accepted[:160] or 'other dimensions in this section'}"


@contextmanager
def named(part: str) -> Iterator[None]:
    """Turn a ValueError within into a MachineError that names the part and its section."""
    try:
        yield
    except MachineError:
        raise
    except (ValueError, ArithmeticError) as error:
        raise MachineError([refusal(part, error)]) from error
