"""The shipped order of the job, and how a faulty procedure file is refused."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from collections import Counter
from functools import lru_cache
from importlib import resources
from itertools import groupby
from pathlib import Path

import pytest

from geometry import machine, reducer
from geometry.joints import GasketJoint, KeyJoint, RollerJoint, ScrewJoint
from scenes import procedure, procedure_file
from scenes.examples import open_machine
from scenes.explain import Explainer
from scenes.wording import text

EXAMPLES = ("millrace", "slipway")
SHIPPED = procedure_file.load()
DONE = [step for step in SHIPPED.steps.values() if not step.optional]
"""The steps that are never skipped."""


@lru_cache
def built(example: str) -> reducer.Reducer:
    return reducer.assemble(machine.load(f"scenes/machines/{example}.toml"))


def known(example: str) -> set[str]:
    return {*built(example).by_name, *built(example).groups}


@lru_cache
def fitted(example: str) -> dict[str, tuple[int, int]]:
    """When each part joins the bench that its neighbours stand on: step number and place within the step, a merging bench last."""
    when: dict[str, tuple[int, int]] = {}
    for step in DONE:
        for place, name in enumerate(step.arrives):
            for member in built(example).members(name):
                when[member] = (step.number, place)
    return when


def met(example: str, part: str, other_bench: str) -> tuple[int, int]:
    """When a part reaches `other_bench`: its own arrival there, or the merging of the bench that it stands on."""
    bench, when = built(example).by_name[part].bench, fitted(example)[part]
    while bench != other_bench:
        step = next(item for item in DONE if item.merges == bench)
        bench, when = step.bench, (step.number, len(step.arrives))
    return when


def test_the_job_has_between_55_and_75_steps_numbered_in_order() -> None:
    assert 55 <= len(SHIPPED.order) <= 75
    assert [SHIPPED.steps[name].number for name in SHIPPED.order] == list(range(1, len(SHIPPED.order) + 1))
    assert tuple(SHIPPED.steps) == SHIPPED.order


def test_the_job_makes_ten_phases_and_never_returns_to_one() -> None:
    runs = tuple(phase for phase, _ in groupby(step.phase for step in SHIPPED.steps.values()))
    assert runs == SHIPPED.phases
    assert len(SHIPPED.phases) == 10


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_part_arrives_exactly_once_outside_the_optional_steps(example: str) -> None:
    count = Counter(member for step in DONE for name in step.arrives for member in built(example).members(name))
    assert set(count) == set(built(example).by_name)
    assert set(count.values()) == {1}


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_part_arrives_on_the_bench_that_it_belongs_to(example: str) -> None:
    parts = built(example).by_name
    arrived = [(step, member) for step in DONE for name in step.arrives for member in built(example).members(name)]
    assert [(step.id, member) for step, member in arrived if parts[member].bench != step.bench] == []


def test_every_bench_but_the_case_merges_exactly_once_and_is_finished_then() -> None:
    merging = Counter(step.merges for step in DONE if step.merges)
    assert merging == Counter({bench: 1 for bench in procedure.BENCHES if bench != procedure.MAIN_BENCH})
    for step in DONE:
        if step.merges:
            on_bench = [item.number for item in SHIPPED.steps.values() if item.bench == step.merges and item.arrives]
            assert on_bench and max(on_bench) < step.number


def test_a_bench_begins_with_the_part_that_all_others_stand_on() -> None:
    first: dict[str, str] = {}
    for step in DONE:
        if step.arrives:
            first.setdefault(step.bench, step.arrives[0])
    assert first == {
        "low_speed_shaft": "low_speed_shaft",
        "carrier": "carrier",
        "case": "lower_case",
        "high_speed_shaft": "high_speed_shaft",
        "cartridge": "cartridge",
        "high_speed_cover": "high_speed_cover",
        "low_speed_cover": "low_speed_cover",
    }


@pytest.mark.parametrize("example", EXAMPLES)
def test_a_gasket_is_laid_before_its_flange_closes_on_the_base(example: str) -> None:
    joints = built(example).of_kind(GasketJoint)
    pairs = {(joint.gasket, joint.flange) for joint in joints}
    position = {"pinion_gasket", "gear_gasket", "high_speed_float_gasket", "low_speed_float_gasket"}
    assert {gasket for gasket, _ in pairs} >= {*position, "carrier_gasket"}
    pairs |= {("pump_gasket", "oil_pump"), ("lower_plate_gasket", "lower_plate"), ("upper_plate_gasket", "upper_plate")}
    for gasket, flange in pairs:
        assert fitted(example)[gasket] < met(example, flange, "case"), gasket


@pytest.mark.parametrize("example", EXAMPLES)
def test_a_key_lies_in_its_shaft_before_the_hub_goes_over_it(example: str) -> None:
    checked = 0
    for joint in built(example).of_kind(KeyJoint):
        if joint.hub:
            assert fitted(example)[joint.key] < fitted(example)[joint.hub]
            checked += 1
    assert checked == 2


@pytest.mark.parametrize("example", EXAMPLES)
def test_screws_come_after_both_parts_that_they_hold_together(example: str) -> None:
    for joint in built(example).of_kind(ScrewJoint):
        screw = built(example).members(joint.screws)[0]
        bench = built(example).by_name[screw].bench
        step = SHIPPED.order[fitted(example)[screw][0] - 1]
        for part in (joint.clamps, joint.into):
            place = met(example, part, bench)
            same = place[0] == fitted(example)[screw][0] and bool(SHIPPED.steps[step].merges)
            assert same or place < fitted(example)[screw], (joint.name, part)


@pytest.mark.parametrize("example", EXAMPLES)
def test_the_loose_outer_ring_is_held_by_its_retainer_before_the_rollers_come(example: str) -> None:
    joints = built(example).of_kind(RollerJoint)
    retainer = {"inner_bearing_outer_ring": "inner_retainer_wire", "lower_bearing_outer_ring": "lower_retainer_wire"}
    assert {joint.ring for joint in joints} == set(retainer)
    for joint in joints:
        bench = "cartridge" if joint.ring.startswith("inner") else "case"
        assert fitted(example)[joint.ring] < fitted(example)[retainer[joint.ring]] < met(example, joint.rollers, bench)


def number(name: str) -> int:
    return SHIPPED.steps[name].number


@pytest.mark.parametrize(
    "first, then",
    [
        ("make_safe", "inspect"),
        ("gear_feeler", "gear_spacer"),
        ("lower_tab", "turn_over"),
        ("turn_over", "shaft_down"),
        ("packers", "shaft_down"),
        ("pinion_nut", "pinion_feeler"),
        ("pinion_feeler", "pinion_tab"),
        ("pinion_tab", "shaft_into_cartridge"),
        ("hs_turn", "cartridge_in"),
        ("pinion_gasket", "cartridge_in"),
        ("shaft_down", "cartridge_in"),
        ("cartridge_in", "upper_half"),
        ("trial_open", "seal_bead"),
        ("seal_bead", "upper_half"),
        ("upper_half", "dowels"),
        ("dowels", "split_screws"),
        ("split_screws", "cartridge_draw_in"),
        ("cartridge_draw_in", "hs_cover"),
        ("hs_end_play", "backlash"),
        ("ls_tab", "packers_out"),
        ("packers_out", "backlash"),
        ("ls_end_play", "backlash"),
        ("backlash", "pattern"),
        ("packers_out", "plates"),
        ("plates", "oil_first_run"),
        ("pump", "oil_first_run"),
    ],
)
def test_the_job_runs_in_the_order_of_the_bench(first: str, then: str) -> None:
    assert number(first) < number(then)


def test_no_screw_stands_in_the_end_face_while_the_upper_half_comes_down() -> None:
    screws = next(step for step in DONE if "cartridge_screw" in step.arrives)
    assert screws.number > number("split_screws")


def test_the_cartridge_comes_in_from_above_with_its_flange_held_off() -> None:
    step = SHIPPED.steps["cartridge_in"]
    assert [axis for axis, _ in step.path] == ["+z", "+x"]
    assert step.path[1][1] == pytest.approx(5.0)
    assert "cartridge" not in step.side


def test_every_packer_that_goes_in_comes_out() -> None:
    gone = [name for step in DONE for name in step.removes]
    assert gone == ["packer"]
    assert number("packers") < number("ls_bearing_1") < number("packers_out")


def test_the_dry_trial_takes_away_all_that_it_brought_and_may_be_skipped() -> None:
    trial = [step for step in SHIPPED.steps.values() if step.phase == "dry_trial"]
    assert trial and all(step.optional for step in trial)
    assert [step for step in SHIPPED.steps.values() if step.optional] == trial
    assert sorted(name for step in trial for name in step.arrives) == sorted(name for step in trial for name in step.removes)


def test_the_gear_shaft_is_built_upside_down_until_it_is_turned_over() -> None:
    ups = {step.id: step.up for step in SHIPPED.steps.values() if step.bench == "low_speed_shaft"}
    assert ups.pop("turn_over") == "+z"
    assert set(ups.values()) == {"-z"}
    assert SHIPPED.steps["turn_over"].method == "turn_over"


def test_what_is_dropped_on_hot_or_lowered_comes_from_above() -> None:
    falling = [step for step in SHIPPED.steps.values() if step.method in ("hot", "lower", "base") and not step.path]
    assert len(falling) > 10
    assert [step.id for step in falling if set(step.side.values()) - {step.up}] == []


def test_the_procedure_is_read_without_building_geometry() -> None:
    heavy = "[name for name in sys.modules if name.split('.')[0] in ('geometry', 'numpy', 'pydantic', 'pint')]"
    code = f"import sys; from scenes import procedure_file; procedure_file.load(); print({heavy})"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"


# ---- faulty files ----------------------------------------------------------------------------------------------------

SMALL = """
order = ["gear_key", "gear_hot"]

[step.gear_key]
phase = "low_speed_shaft"
bench = "low_speed_shaft"
method = "soft_drift"
arrives = ["gear_key"]

[step.gear_hot]
phase = "low_speed_shaft"
bench = "low_speed_shaft"
method = "hot"
arrives = ["gear"]
"""
PARTS = ("gear", "gear_key", "pinion_key")


def faults(text: str) -> list[str]:
    with pytest.raises(procedure_file.ProcedureError) as caught:
        procedure_file.parse(text.encode(), "mine.toml", PARTS)
    return caught.value.faults


def test_a_short_procedure_is_read_with_its_defaults() -> None:
    read = procedure_file.parse(SMALL.encode(), "mine.toml", PARTS)
    assert read.order == ("gear_key", "gear_hot")
    step = read.steps["gear_hot"]
    assert (step.number, step.up, dict(step.side), step.hold, step.optional) == (2, "+z", {"gear": "+z"}, False, False)
    assert step.cautions == ("caution.hot", "step.gear_hot.caution")


@pytest.mark.parametrize(
    "old, new, expected",
    [
        ('arrives = ["gear"]', 'arrives = ["gaer"]', 'step.gear_hot.arrives = "gaer": unknown: did you mean gear?'),
        ('arrives = ["gear"]', 'arrives = "gear"', 'step.gear_hot.arrives = "gear": accepted: a list of texts'),
        ('arrives = ["gear"]', 'arives = ["gear"]', "step.gear_hot.arives: unknown key: did you mean arrives?"),
        ('arrives = ["gear"]', 'arrives = ["gear", "gear"]', 'step.gear_hot.arrives = "gear": given twice: accepted: once'),
        ('"gear_hot"]', '"gear_hto"]', 'order = "gear_hto": unknown step: did you mean gear_hot?'),
        (', "gear_hot"]', "]", 'step.gear_hot: not in order: accepted: a line of its own in order, "gear_hot"'),
        ('"gear_hot"]', '"gear_hot", "gear_hot"]', 'order = "gear_hot": given 2 times: accepted: once'),
        ('"gear_hot"]', '"gear_hot", "pump"]', 'order = "pump": no table [step.pump]: accepted: a table for each id in order'),
        ('order = ["gear_key", "gear_hot"]', "", "order: missing: accepted: a list of step ids, one a line"),
        ('order = ["gear_key", "gear_hot"]', 'order = "gear_key"', 'order: given "gear_key": accepted: a list of step ids'),
        ("order = [", "ordre = [", "ordre: unknown key: did you mean order?"),
        ('method = "hot"', 'method = "hott"', 'step.gear_hot.method = "hott": unknown: did you mean hot?'),
        ('method = "hot"', "method = 3", "step.gear_hot.method = 3: accepted: a text in quotes"),
        ('method = "hot"\n', "", "step.gear_hot.method: missing: accepted: base, bend_tab"),
        ("[step.gear_hot]", "[step]\ngear_hot = 3\n[trash]", "step.gear_hot = 3: accepted: a table [step.gear_hot]"),
        ("[step.gear_hot]", "[step.gear_key]", "step.gear_key: given twice, lines 4 and 10: accepted: one table for each step"),
    ],
)
def test_a_fault_names_the_field_what_was_given_and_what_is_accepted(old: str, new: str, expected: str) -> None:
    assert old in SMALL
    found = faults(SMALL.replace(old, new))
    assert any(line.startswith(f"mine.toml: {expected}") for line in found), found
    assert all("\n" not in line for line in found)


@pytest.mark.parametrize(
    "line, expected",
    [
        ("phase2 = 1", "phase2: unknown key: did you mean phase?"),
        ('up = "z"', 'up = "z": unknown: did you mean'),
        ('up = "+y"', 'up = "+y": unknown: accepted: +x, +z, -x, -z'),
        ('from = "+w"', 'from = "+w": unknown axis: accepted: +x, +y, +z, -x, -y, -z'),
        ("from = 3", "from = 3: accepted: one axis"),
        ('from = { geer = "-z" }', 'from.geer = "-z": does not move in this step: did you mean gear?'),
        ('path = [["+z", -3]]', "path = -3: accepted: legs from the far end"),
        ('path = [["+z", nan]]', "path = nan: accepted: legs from the far end"),
        ('path = [["+z"]]', 'path = [["+z"]]: accepted: legs from the far end'),
        ('path = [["up", 3]]', 'path = "up": unknown axis'),
        ('merges = "carier"', 'merges = "carier": unknown: did you mean carrier?'),
        ('merges = "low_speed_shaft"', 'merges = "low_speed_shaft": a bench can\'t join itself'),
        ('hold = "yes"', 'hold = "yes": accepted: true, false'),
        ("hold = true", "reads: missing: accepted with hold = true"),
        ('reads = ["backlsh"]', 'reads = "backlsh": unknown: did you mean backlash?'),
        ('tools = ["hoost"]', 'tools = "hoost": unknown: did you mean hoist?'),
        ('removes = ["geer"]', 'removes = "geer": unknown: did you mean gear?'),
    ],
)
def test_a_faulty_line_of_a_step_is_told_with_what_is_accepted(line: str, expected: str) -> None:
    found = faults(SMALL + line + "\n")
    assert any(item.startswith(f"mine.toml: step.gear_hot.{expected}") for item in found), found


def test_a_typing_error_in_the_order_is_never_offered_as_the_cure() -> None:
    found = faults(SMALL.replace('"gear_hot"]', '"gear_hto"]'))
    assert any("unknown step: did you mean gear_hot?" in line for line in found)
    assert not any("did you mean gear_hto?" in line for line in found), found


def test_all_faults_are_reported_at_once() -> None:
    found = faults(
        SMALL.replace('"gear_key", "gear_hot"]', '"gear_key", "gear_key", "gear_hto"]')
        .replace('method = "hot"', 'method = "hott"')
        .replace('arrives = ["gear"]', 'arrives = ["gaer"]\nholds = true')
        .replace('method = "soft_drift"', 'method = "soft_drift"\nfrom = "y"')
    )
    pieces = ("given 2 times", "unknown step", "hott", "gaer", "holds: unknown key", "gear_key.from", "gear_hot: not in order")
    for piece in pieces:
        assert sum(piece in line for line in found) == 1, piece
    assert len(found) == 7


def test_part_names_are_left_alone_when_no_list_of_parts_is_given() -> None:
    read = procedure_file.parse(SMALL.replace('["gear"]', '["another"]').encode())
    assert read.steps["gear_hot"].arrives == ("another",)


@pytest.mark.parametrize(
    "content, expected", [(b"", "the file is empty"), (b"\xff\xfe\x00", "not a text file"), (b"order = [", "not valid TOML")]
)
def test_what_is_no_procedure_file_is_refused(content: bytes, expected: str) -> None:
    with pytest.raises(procedure_file.ProcedureError, match=expected):
        procedure_file.parse(content, "mine.toml")


def test_a_folder_or_a_missing_file_is_refused_with_its_path(tmp_path: Path) -> None:
    with pytest.raises(procedure_file.ProcedureError, match="is a folder"):
        procedure_file.load(tmp_path)
    with pytest.raises(procedure_file.ProcedureError, match="absent.toml: no such file"):
        procedure_file.load(tmp_path / "absent.toml")


def test_a_file_on_disk_reads_like_the_shipped_one(tmp_path: Path) -> None:
    path = tmp_path / "copy.toml"
    path.write_bytes(procedure_file.shipped())
    assert procedure_file.load(path, known("millrace")) == procedure_file.load(None, known("slipway")) == SHIPPED


def test_the_shipped_file_opens_with_one_step_id_a_line() -> None:
    text = procedure_file.shipped().decode()
    order = tomllib.loads(text)["order"]
    block = text[text.index("order = [\n") : text.index("\n]\n")].splitlines()[1:]
    assert block == [f'  "{name}",' for name in order]


def test_every_fault_of_a_planners_file_is_told_in_one_go() -> None:
    """One of each kind: id given twice, unknown step and part with the nearest suggested, circle of benches, own step without words."""
    content = """
order = ["carrier_stand", "carrier_in", "carrier_in", "gear_hat", "mine", "back", "idle"]
[step.carrier_stand]
phase = "low_speed_shaft"
bench = "carrier"
method = "base"
arrives = ["carier"]
[step.carrier_in]
phase = "low_speed_shaft"
bench = "case"
method = "lower"
merges = "carrier"
[step.mine]
phase = "low_speed_shaft"
bench = "case"
method = "measure"
[step.back]
title = "Back"
why = "none"
phase = "low_speed_shaft"
bench = "carrier"
method = "lower"
merges = "case"
[step.idle]
title = "Idle"
why = "none"
phase = "low_speed_shaft"
bench = "case"
method = "slide"
"""
    with pytest.raises(procedure_file.ProcedureError) as refused:
        procedure_file.parse(content.encode(), "mine.toml", parts=known("millrace"))
    told = "\n".join(refused.value.faults)
    for wanted in (
        'carrier_in": given 2 times',
        'gear_hat": unknown step: did you mean gear_hot?',
        'step.carrier_stand.arrives = "carier": unknown: did you mean carrier?',
        'order = "mine": unknown step',
        'step.back.merges = "case": benches join in a circle: case -> carrier -> case',
        'step.idle.method = "slide": moves nothing',
    ):
        assert wanted in told, (wanted, told)


@pytest.mark.parametrize("content", [b"", b"order = []\n", b"# nothing\n"])
def test_an_empty_procedure_is_refused(content: bytes) -> None:
    with pytest.raises(procedure_file.ProcedureError, match="accepted: a (procedure file|list of step ids)"):
        procedure_file.parse(content, "mine.toml")


def test_a_step_of_the_planners_own_is_read_with_its_words() -> None:
    content = b"""
order = ["my_look"]
[step.my_look]
title = "Look at the gear"
why = "A chip {here} costs the mesh."
phase = "low_speed_shaft"
bench = "case"
method = "measure"
hold = true
reads = ["incoming"]
"""
    assert procedure_file.parse(content, "mine.toml").order == ("my_look",)
    assert text("step.my_look.title") == text("step.my_look.act") == "Look at the gear"
    assert text("step.my_look.reason") == "A chip {here} costs the mesh."


@pytest.mark.parametrize("name", ["My-Look", "blick_ä", "a b", "x" * 61, ""])
def test_a_step_id_is_of_small_letters_digits_and_underlines(name: str) -> None:
    text = f'order = ["{name}"]\n[step."{name}"]\nphase = "finish"\nbench = "case"\nmethod = "oil"\ntitle = "T"\nwhy = "W"\n'
    assert any("accepted: a step id of a to z, 0 to 9 and _" in fault for fault in faults(text))


@pytest.mark.parametrize(
    ("line", "field"), [('title = "Look\\u001b[2J"', "title"), ('title = "a\\nb"', "title"), ('act = "Look\\u0007"', "act")]
)
def test_a_control_character_in_words_is_refused_by_its_field(line: str, field: str) -> None:
    title = "" if line.startswith("title") else 'title = "T"\n'
    text = f'order = ["my_look"]\n[step.my_look]\nphase = "finish"\nbench = "case"\nmethod = "oil"\nwhy = "W"\n{title}{line}\n'
    told = faults(text)
    assert len(told) == 1 and f"step.my_look.{field} = " in told[0] and "accepted: printable characters" in told[0]
    assert told[0].isprintable()


def test_two_open_files_with_the_same_own_step_keep_their_own_words(tmp_path: Path) -> None:
    shipped = procedure_file.shipped().decode().replace("order = [\n", 'order = [\n  "my_look",\n', 1)
    machine = resources.files("scenes").joinpath("machines", "millrace.toml").read_text(encoding="utf-8")
    explainers = []
    for title in ("First look", "Other look"):
        folder = tmp_path / title.split()[0]
        folder.mkdir()
        table = f'\n[step.my_look]\nphase = "low_speed_shaft"\nbench = "low_speed_shaft"\nmethod = "measure"\ntitle = "{title}"\nwhy = "W"\n'
        (folder / "order.toml").write_text(shipped + table, encoding="utf-8")
        (folder / "machine.toml").write_text('procedure = "order.toml"\n' + machine, encoding="utf-8")
        found, path = open_machine(str(folder / "machine.toml"))
        explainers.append(Explainer(found, path.parent if path else None))
    for explainer, title in (*zip(explainers, ("First look", "Other look"), strict=True), (explainers[0], "First look")):
        assert explainer.phases[0][2][0][2] == title
        step = explainer.numbers(explainer.with_(explainer.start_settings(), step="my_look"))["steps"][0]
        assert step["title"] == title
