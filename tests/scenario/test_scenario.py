"""The shipped scenario, and what happens to a scenario or plan with a mistake in it."""

from __future__ import annotations

import random
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from quizgen.base.errors import FileError, InputError
from quizgen.base.paths import data_folder
from quizgen.circuit.components import LOADS
from quizgen.circuit.template import find_template
from quizgen.forms.plan import load_plan
from quizgen.scenario.people import invent_people
from quizgen.scenario.scenario import Scenario, find_scenario, load_scenario, shipped_scenarios

SHIPPED = data_folder("scenarios") / "brindlemere"


@pytest.fixture(scope="module")
def brindlemere() -> Scenario:
    """The shipped scenario."""
    return find_scenario("brindlemere")


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A copy of the shipped scenario to break."""
    return Path(shutil.copytree(SHIPPED, tmp_path / "brindlemere"))


def change(file: Path, old: str, new: str) -> None:
    """Replace `old`, which must be there, by `new` in `file`."""
    text = file.read_text(encoding="utf-8")
    assert old in text
    file.write_text(text.replace(old, new, 1), encoding="utf-8")


# --- the shipped one ------------------------------------------------------------------------


def test_every_shipped_scenario_loads() -> None:
    """Each folder with a setting.yaml is a scenario, and the demo's is among them."""
    assert "brindlemere" in shipped_scenarios()
    for name in shipped_scenarios():
        assert find_scenario(name).name == name


def test_every_machine_can_carry_its_circuits(brindlemere: Scenario) -> None:
    """What a machine fixes is a valid setting of the template, whatever else is drawn."""
    rng = random.Random(5)
    for machine in brindlemere.machines:
        assert machine.carries
        for carried in machine.carries:
            template = find_template(carried.family)
            fixed = machine.settings(carried.family)
            circuit = template.build(template.draw(rng, fixed))
            assert circuit.system_volts == machine.system_volts


def test_every_family_of_the_plan_runs_on_both_voltages(brindlemere: Scenario) -> None:
    """Each family of the example plan is on at least three machines, of 12 V and of 24 V."""
    plan = load_plan(SHIPPED / "plans" / "week-01.yaml")
    for family in plan.circuits:
        machines = brindlemere.machines_with(family)
        assert len(machines) >= 3
        assert {m.system_volts for m in machines} == {12, 24}


def test_every_load_a_driver_can_see_has_a_complaint(brindlemere: Scenario) -> None:
    """For each observable load of each family there is a sentence for its being out of action."""
    out = {
        "lamp": "dark", "led_lamp": "dark", "motor": "stopped", "two_speed_motor": "stopped",
        "horn": "silent", "heater": "cold", "solenoid": "released", "gauge": "at the lower stop",
    }  # fmt: skip
    for machine in brindlemere.machines:
        for carried in machine.carries:
            template = find_template(carried.family)
            circuit = template.build(
                template.draw(random.Random(1), machine.settings(carried.family))
            )
            for part in circuit.parts:
                if isinstance(part, LOADS) and part.id not in circuit.unobserved:
                    assert brindlemere.wording.sentences(carried.family, part.id, out[part.kind])


def test_complaints_speak_of_parts_and_positions_that_exist(brindlemere: Scenario) -> None:
    """Every part, control and position named in complaints.yaml is in some form of the template."""
    built: dict[str, list] = {}
    for family in {c.family for c in brindlemere.wording.complaints}:
        template = find_template(family)
        draws = (template.draw(random.Random(n)) for n in range(60))
        built[family] = [template.build(d) for d in draws]
    for complaint in brindlemere.wording.complaints:
        parts = {p.id for circuit in built[complaint.family] for p in circuit.parts}
        assert set(complaint.parts) <= parts
    for family, control, position in brindlemere.wording.when:
        known = [c.by_control[control] for c in built[family] if control in c.by_control]
        assert any(position in c.positions for c in known), (family, control, position)


def test_a_complaint_is_a_whole_sentence(brindlemere: Scenario) -> None:
    """Each sentence, filled in with and without a situation, reads as text without gaps."""
    rng = random.Random(3)
    for complaint in brindlemere.wording.complaints:
        machine = brindlemere.machines_with(complaint.family)[0]
        for positions in ({}, {"S2": "1"}, {"left-door": "open"}, {"S2": "raise"}, {}, {}, {}):
            said = brindlemere.complaint(
                rng, machine, complaint.family, positions,
                part=complaint.parts[0], load="left step lamp",
                does=complaint.does, instead_of=complaint.instead_of,
            )  # fmt: skip
            assert machine.name in said
            assert not re.search(r"[{}]|  | [.,:;?!]|\.\.", said), said
            assert said.endswith('."')


def test_the_sentence_for_what_should_have_been_comes_first(brindlemere: Scenario) -> None:
    """A lamp that burns when it should be dark is not reported like one that should burn."""
    stuck = brindlemere.wording.sentences("ground-switched-lamps", "E1", "dim", "dark")
    weak = brindlemere.wording.sentences("ground-switched-lamps", "E1", "dim", "bright")
    assert stuck
    assert weak
    assert not set(stuck) & set(weak)


def test_an_observation_without_a_sentence_gives_no_complaint(brindlemere: Scenario) -> None:
    """Where nobody has written anything, nothing is made up."""
    machine = brindlemere.machine("ice-resurfacer")
    said = brindlemere.complaint(
        random.Random(1), machine, "blower-pack", {}, part="E1", load="lamp", does="on fire"
    )
    assert said == ""


def test_two_situations_are_joined(brindlemere: Scenario) -> None:
    """Two things that were switched are both said; what goes without saying is not."""
    said = brindlemere.wording.situation(
        "ground-switched-lamps", {"left-door": "open", "S8": "on", "rear-door": "closed"}
    )
    assert said == "with the left door open and the cab switch on"


def test_places_have_the_machines_own_names(brindlemere: Scenario) -> None:
    """A place is called what it is on that machine; other places keep the template's word."""
    machine = brindlemere.machine("ice-resurfacer")
    assert machine.place("battery box") == "box under the seat"
    assert machine.place("cabin roof") == "cabin roof"
    assert machine.title == "Ice resurfacer, 12 V"


def test_the_usual_cautions_are_there(brindlemere: Scenario) -> None:
    """Isolation, live resistance checks, jumpers, restraint systems, high voltage, procedure."""
    words = " ".join(brindlemere.cautions).lower()
    for expected in (
        "isolate the battery", "live circuit", "fuse", "restraint", "data lines", "hybrid",
        "eye protection", "manufacturer", "local codes",
    ):  # fmt: skip
        assert expected in words


# --- people ------------------------------------------------------------------------------------


def test_people_are_the_same_in_another_process(brindlemere: Scenario) -> None:
    """A roster depends on its seed alone, not on the process or its hash seed."""
    code = (
        "from quizgen.scenario.scenario import find_scenario; "
        "print([p.name for p in find_scenario('brindlemere').students])"
    )
    printed = subprocess.run(
        [sys.executable, "-c", code], capture_output=True, text=True, check=True,
        env={"PYTHONHASHSEED": "7", "PYTHONIOENCODING": "utf-8"},
    )  # fmt: skip
    assert printed.stdout.strip() == str([p.name for p in brindlemere.students])


def test_people_have_different_names_and_ids(brindlemere: Scenario) -> None:
    """Two hundred people of one role are two hundred names and ids; another role is others."""
    people = brindlemere.people("student", 200)
    assert len({p.name for p in people}) == len({p.id for p in people}) == 200
    assert {p.name for p in people[:20]} != {p.name for p in brindlemere.people("driver", 20)}
    assert people[:20] == brindlemere.people("student", 20)
    assert people[:5] != brindlemere.people("student", 5, seed=1)


def test_impossible_people_are_refused() -> None:
    """An unknown locale or an absurd number gives one clear line."""
    with pytest.raises(InputError, match="no list of names for one of: xx_YY"):
        invent_people("student", 1, 1, ["xx_YY"])
    with pytest.raises(InputError, match="100000 people"):
        invent_people("student", 100_000, 1, ["en_GB"])


# --- mistakes ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("file", "old", "new", "message"),
    [
        ("setting.yaml", "college:", "collage:", "unknown field 'collage'; did you mean college"),
        ("setting.yaml", "name: brindlemere", "name: x", "expected the name of the folder"),
        ("setting.yaml", "seed: 4107", "seed: many", "expected a number"),
        ("setting.yaml", "seed: 4107", "seed: 1.5", "expected a whole number"),
        ("setting.yaml", "format: 1", "format: 2", "expected format 1"),
        ("fleet.yaml", "system: 12", "system: 48", "expected 12 or 24"),
        ("fleet.yaml", "    carries:", "    caries:", "unknown field 'caries'"),
        ("fleet.yaml", "called: cab blower, ", "", "the field 'called' is missing"),
        ("complaints.yaml", "{circuit} is", "{circiut} is", "unknown placeholder {circiut}; did"),
        ("complaints.yaml", "{circuit} is", "{circuit is", "brace"),
        ("complaints.yaml", "does: stopped", "dose: stopped", "unknown field 'dose'"),
    ],
)
def test_a_mistake_is_told_with_its_line(
    folder: Path, file: str, old: str, new: str, message: str
) -> None:
    """File, line and field, what was found, what was expected."""
    change(folder / file, old, new)
    with pytest.raises(FileError, match=re.escape(message)) as caught:
        load_scenario(folder)
    assert str(caught.value).startswith(f"{folder / file}, line ")


def test_a_missing_file_is_named(folder: Path) -> None:
    """A scenario without its fleet says so."""
    (folder / "fleet.yaml").unlink()
    with pytest.raises(InputError, match=r"fleet\.yaml"):
        load_scenario(folder)


def test_an_unknown_name_is_answered_with_the_known_ones(brindlemere: Scenario) -> None:
    """Scenario, machine and circuit each offer what was meant."""
    with pytest.raises(InputError, match="did you mean brindlemere"):
        find_scenario("brindelmere")
    with pytest.raises(InputError, match="did you mean rescue-truck"):
        brindlemere.machine("rescue-trcuk")
    with pytest.raises(InputError, match="carries no circuit 'blower'"):
        brindlemere.machine("rescue-truck").carried("blower")


# --- plans -------------------------------------------------------------------------------------


def test_the_example_plan_is_what_the_demo_promises() -> None:
    """Two forms of eight problems over four families."""
    plan = load_plan(SHIPPED / "plans" / "week-01.yaml")
    assert (plan.forms, plan.items, len(plan.circuits)) == (2, 8, 4)
    assert plan.form_codes == ("A", "B")
    assert plan.scenario == "brindlemere"


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ("forms: 2", "forms: 0", "from 1 to 26, found 0"),
        ("interpret: 8", "interpret: eight", "expected a number"),
        ("circuits: [blower-pack,", "circuits: [push-button-relay,", "named twice"),
        ("secret:", "sekret:", "did you mean secret"),
    ],
)
def test_a_wrong_plan_is_told_with_its_line(folder: Path, old: str, new: str, message: str) -> None:
    """A plan is checked as strictly as a scenario."""
    file = folder / "plans" / "week-01.yaml"
    change(file, old, new)
    with pytest.raises(FileError, match=message):
        load_plan(file)
