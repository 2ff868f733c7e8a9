"""Every mistake in a template file gives one error with file, line, field and remedy.

Each case changes one thing in a valid file. What the errors should say is our own decision;
there is no outside source for it.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from quizgen.base.errors import FileError
from quizgen.circuit.template import parse_template
from tests.circuit.sample import NETWORK, SAMPLE


@dataclass(frozen=True)
class Slip:
    """`old` is written as `new`; the error stands at `field` and says `says`."""

    old: str
    new: str
    field: str
    says: str
    line_of: str = ""  # text on the line that the error names, if not where `new` begins


SLIPS = {
    # sections
    "no format": Slip("format: 1\n", "", "", "'format' is missing", "name: sample"),
    "another format": Slip("format: 1", "format: 2", "format", "reads format 1, found 2"),
    "format in words": Slip("format: 1", "format: one", "format", "expected a number, found 'one'"),
    "unknown section": Slip("topics:", "topic:", "topic", "did you mean topics?"),
    "no parts": Slip("parts:", "layouts:", "layouts", "did you mean layout?"),
    "parts is a list": Slip("layout:\n  M1: {column: 3, beside: [K1, \"=lamps\"]}\n",
                            "layout: [M1]\n", "layout", "expected drawing hints"),
    "name not kebab": Slip("name: sample", "name: My Sample", "name", "small letters"),
    "bad topic": Slip("[relay,", "[Relay!,", "topics", "small letters"),
    "no title": Slip("title: Pump with pressure switch", "title:", "title", "found nothing"),
    "title is a list": Slip("title: Pump with", "title: [Pump]\n#", "title", "found a list"),
    "system zero": Slip('"=system"', "0", "system", "a number above 0, found '0'"),
    "system in words": Slip('"=system"', "twelve", "system", "expected a number"),
    "system with its unit": Slip('"=system"', "12 V", "system", "the number without its unit"),
    "reference no node": Slip('system: "=system"', 'reference: "a.b"\nsystem: "=system"',
                              "reference", "cannot be the name of a node"),
    "two documents": Slip("wires:", "---\nwires:", "", "a second document", "---"),
    # parameters
    "no default": Slip("default: 1.5, ", "", "parameters.feed", "'default' is missing",
                       "range: [0.8"),
    "default outside": Slip("default: 1.5", "default: 2.6", "parameters.feed.default",
                            "choose from 0.8 to 2.5 m in steps of 0.1"),
    "default off the step": Slip("default: 1.5", "default: 1.55", "parameters.feed.default",
                                 "1.55 is not allowed"),
    "default no choice": Slip("default: 12", "default: 48", "parameters.system.default",
                              "choose one of 12, 24"),
    "default of another type": Slip("default: 12", 'default: "12"', "parameters.system.default",
                                    "'12' is not allowed"),
    "low above high": Slip("[0.8, 2.5]", "[2.5, 0.8]", "parameters.feed.range", "above the high"),
    "three ends": Slip("[0.8, 2.5]", "[0.8, 2, 2.5]", "parameters.feed.range", "found 3 values"),
    "step zero": Slip("step: 0.1", "step: 0", "parameters.feed.step", "a step above 0"),
    "step negative": Slip("step: 0.1", "step: -0.1", "parameters.feed.step", "a step above 0"),
    "step too fine": Slip("step: 0.1", "step: 1e-9", "parameters.feed.step", "coarser"),
    "range to infinity": Slip("[0.8, 2.5]", "[0.8, inf]", "parameters.feed.range[2]",
                              "expected a number up to"),
    "range of words": Slip("[0.8, 2.5]", "[low, 2.5]", "parameters.feed.range[1]", "found 'low'"),
    "no choices": Slip("choices: [1, 2]", "choices: []", "parameters.lamps.choices",
                       "expected 1 to 50 choices"),
    "choice twice": Slip("choices: [1, 2]", "choices: [1, 1.0]", "parameters.lamps.choices[2]",
                         "there twice"),
    "choices and range": Slip("choices: [1, 2]", "choices: [1, 2], range: [1, 2]",
                              "parameters.lamps.range", "unknown field"),
    "neither": Slip("lamps: {choices: [1, 2], default: 1}", "lamps: {about: x}",
                    "parameters.lamps", "expected choices, a range or a value"),
    "not a mapping": Slip("lamps: {choices: [1, 2], default: 1}", "lamps: 4",
                          "parameters.lamps", "expected choices, a range or a value, found '4'"),
    "bad name": Slip("  lamps: {ch", "  Lamps-2: {ch", "parameters.Lamps-2", "no parameter name"),
    "reserved name": Slip('  rated: {value', '  min: {value: 1}\n  rated: {value',
                          "parameters.min", "has a meaning"),
    "keyword": Slip("  rated: {value", "  if: {value: 1}\n  rated: {value",
                    "parameters.if", "has a meaning"),
    "unused parameter": Slip("  plug: {ch", "  spare: {value: 1}\n  plug: {ch",
                             "parameters.spare", "no expression uses"),
    "circle": Slip('"=13.5 if system == 12 else 28"}', '"=other"}\n  other: {value: "=rated + 1"}',
                   "parameters.rated.value", "need each other: rated and other"),
    "derived from itself": Slip('"=13.5 if', '"=rated if', "parameters.rated.value",
                                "need each other: rated"),
    "unknown name": Slip('"=13.5 if system', '"=13.5 if sistem', "parameters.rated.value",
                         "did you mean system?"),
    "derived and set": Slip("rated: {v", "rated: {default: 3, v", "parameters.rated.default",
                            "unknown field 'default'"),
    "division by zero": Slip('"=13.5 if system == 12 else 28"', '"=1 / (system - 12)"',
                             "parameters.rated.value", "division by zero"),
    # expressions and requirements
    "unreadable": Slip('"=12.6 * system / 12"', '"=12.6 * / 12"', "parts.GB1.emf_volts",
                       "cannot be read as an expression"),
    "a call": Slip('"=12.6 * system / 12"', '"=open(system)"', "parts.GB1.emf_volts",
                   "only min, max, round and abs"),
    "an attribute": Slip('"=12.6 * system / 12"', '"=system.real"', "parts.GB1.emf_volts",
                         "attribute is not allowed"),
    "when not a truth": Slip('"lamps == 1"', '"lamps"', "parts.E1[1].when",
                             "gives 1, expected true or false"),
    "when unknown": Slip('"lamps == 1"', '"lamp == 1"', "parts.E1[1].when", "did you mean lamps?"),
    "when a list": Slip('"lamps == 1"', '["lamps == 1"]', "parts.E1[1].when",
                        "expected a condition such as 'speeds == 4', found a list"),
    "require broken": Slip('"feed < 3"', '"feed < 1"', "require[1]", "default values do not meet"),
    "require no truth": Slip('"feed < 3"', '"feed + 3"', "require[1]", "expected true or false"),
    "require fails": Slip('"feed < 3"', '"feed < \'x\'"', "require[1]", "expected a number"),
    # conditions
    "one position": Slip("positions: [low, high], rest", "positions: [low], rest",
                         "conditions.pressure.positions", "expected 2 to 24 positions, found 1"),
    "rest unknown": Slip("rest: high, label", "rest: middle, label", "conditions.pressure.rest",
                         "no position 'middle'; known: low, high"),
    "position twice": Slip("positions: [low, high], rest", "positions: [low, low], rest",
                           "conditions.pressure.positions", "there twice"),
    "unused condition": Slip("  pressure: {pos", "  rain: {positions: [no, yes]}\n  pressure: {pos",
                             "conditions.rain", "nothing is moved by the condition rain"),
    # parts
    "unknown kind": Slip("{kind: motor", "{kind: moter", "parts.M1.kind", "did you mean motor?"),
    "no kind": Slip("{kind: motor, ", "{", "parts.M1", "'kind' is missing", "M1: {volts"),
    "a wire as a part": Slip("{kind: splice", "{kind: wire", "parts.XS1.kind", "section 'wires'"),
    "a bridge": Slip("{kind: splice", "{kind: bridge", "parts.XS1.kind", "unknown kind 'bridge'"),
    "unknown field": Slip("coil_ohm: 85", "coil_ohms: 85", "parts.K1.coil_ohms",
                          "did you mean coil_ohm?"),
    "a defect": Slip("amps: 15", "amps: 15, condition: blown", "parts.F1.condition",
                     "unknown field"),
    "missing field": Slip(" amps: 15,", "", "parts.F1", "the field 'amps' is missing", "F1: {"),
    "negative": Slip("coil_ohm: 85", "coil_ohm: -85", "parts.K1.coil_ohm", "above 0, found '-85'"),
    "zero": Slip("coil_ohm: 85", "coil_ohm: 0", "parts.K1.coil_ohm", "above 0"),
    "nan": Slip("coil_ohm: 85", "coil_ohm: .nan", "parts.K1.coil_ohm", "found '.nan'"),
    "infinite": Slip("coil_ohm: 85", "coil_ohm: inf", "parts.K1.coil_ohm", "found 'inf'"),
    "huge": Slip("coil_ohm: 85", "coil_ohm: 1e300", "parts.K1.coil_ohm", "found '1e300'"),
    "decimal comma": Slip("coil_ohm: 85", 'coil_ohm: "85,5"', "parts.K1.coil_ohm", "found '85,5'"),
    "number in quotes": Slip("coil_ohm: 85", 'coil_ohm: "85"', "parts.K1.coil_ohm", "in quotes"),
    "true as a number": Slip("coil_ohm: 85", "coil_ohm: true", "parts.K1.coil_ohm", "found 'true'"),
    "list as a number": Slip("coil_ohm: 85", "coil_ohm: [85]", "parts.K1.coil_ohm", "found a list"),
    "number as a list": Slip('[100, "=4 * rated"], unused: ["2"]', "100", "parts.R1.ohms",
                             "a list of numbers"),
    "empty list": Slip('[100, "=4 * rated"], unused: ["2"]', "[]", "parts.R1.ohms", "at least one"),
    "wrong word": Slip("contact: changeover", "contact: change", "parts.K1.contact",
                       "expected one of make, break, changeover"),
    "wrong truth": Slip("unobserved: true", "unobserved: yes", "parts.E1[1].unobserved",
                        "expected true or false, found 'yes'"),
    "unobserved fuse": Slip("amps: 15", "amps: 15, unobserved: true", "parts.F1.unobserved",
                            "only a load"),
    "drop-out above pull-in": Slip("coil_ohm: 85", "coil_ohm: 85, drop_out_volts: 9",
                                   "parts.K1.drop_out_volts", "must lie below pull_in_volts"),
    "stall below run": Slip("stall_amps: 30", "stall_amps: 5", "parts.M1.run_amps",
                            "must lie below stall_amps, found 6 and 5"),
    "friction": Slip("stall_amps: 30", "stall_amps: 30, friction: 1.1", "parts.M1.friction",
                     "not above 1, found '1.1'"),
    "values per position": Slip("ohms: [200, 20]", "ohms: [200]", "parts.B2.ohms",
                                "1 values for 2 positions"),
    "weight negative": Slip("{blown: 3}", "{blown: -3}", "parts.F1.weights.blown", "not below 0"),
    "wrong letter": Slip("  K1: {", "  R9: {", "parts.R9", "begins with K (IEC 81346-2)"),
    "lower case": Slip("  K1: {", "  k1: {", "parts.k1", "is no reference"),
    "part twice": Slip("  XS1: {", "  M1: {kind: splice}\n  XS1: {", "parts", "M1 is given twice",
                       "M1: {kind: motor"),
    "no alternatives": Slip("  XS1: {kind: splice}", "  XS1: []", "parts.XS1", "at least one"),
    "never reached": Slip('{when: "lamps == 1", kind: lamp', "{kind: lamp", "parts.E1[2]",
                          "never used", 'lamps == 2"'),
    # switches, connectors, senders
    "contact of no pin": Slip('"30-1"', '"30-2"', "parts.S1.positions.on[1]", "no terminal '2'"),
    "contact without a dash": Slip('"30-1"', '"301"', "parts.S1.positions.on[1]",
                                   "expected a contact such as '30-1'"),
    "contact with itself": Slip('"30-1"', '"30-30"', "parts.S1.positions.on[1]", "with itself"),
    "contact twice": Slip('"30-1"]', '"30-1", "1-30"]', "parts.S1.positions.on[2]", "twice"),
    "one switch position": Slip("off: [], on:", "on:", "parts.S1.positions", "found 1"),
    "no such rest": Slip("name: pump switch", "rest: open", "parts.S1.rest", "no position 'open'"),
    "no pins": Slip('["30", "1"]', "[]", "parts.S1.pins", "expected 1 to 40 names, found 0"),
    "pin twice": Slip('["30", "1"]', '["30", "30"]', "parts.S1.pins", "there twice"),
    "pin with a dash": Slip("[1, 2]\n", "[1-a, 2]\n", "parts.B1.pins", "cannot be a terminal"),
    "unknown control": Slip("control: pressure\n", "control: presure\n", "parts.B1.control",
                            "did you mean pressure?"),
    "other positions": Slip("{high: [], low:", "{hi: [], low:", "parts.B1.control",
                            "must be those of the condition pressure: low, high", "    control: p"),
    "rest of a condition": Slip("style: pressure", "rest: high", "parts.B1.rest",
                                "belongs to a hand switch"),
    "cavity twice": Slip('cavities: ["1"]', "cavities: [1, 1]", "parts.X1.cavities", "twice"),
    # wires
    "unknown part": Slip("to: F1.1", "to: F9.1", "wires.W1.to", "no part or node 'F9.1'"),
    "unknown terminal": Slip("to: F1.1", "to: F1.3", "wires.W1.to",
                             "F1 has no terminal '3'; known: 1, 2"),
    "part without terminal": Slip("to: F1.1", "to: F1", "wires.W1.to", "choose from F1.1, F1.2"),
    "end missing": Slip("to: F1.1, ", "", "wires.W1", "'to' is missing", "W1: {"),
    "end is a list": Slip("to: F1.1", "to: [F1.1]", "wires.W1.to", "found a list"),
    "to itself": Slip("to: F1.1", "to: GB1.+", "wires.W1", "the same point"),
    "size": Slip("mm2: 4,", "mm2: 3.5,", "wires.W1.mm2", "no standard size"),
    "colour": Slip("colour: GNWH", "colour: GREEN", "wires.W12.colour", "'GREEN' is not one"),
    "colour order": Slip("colour: GNWH", "colour: WHGN", "wires.W12.colour", "in table order"),
    "length": Slip("metres: 0.4", "metres: 0", "wires.W11.metres", "above 0"),
    "wire letter": Slip("  W1: {", "  L1: {", "wires.L1", "begins with W"),
    "wire like a part": Slip("  W1: {", "  M1: {", "wires.M1", "also the reference of a part"),
    "absent part": Slip("metres: 1, when: plug}", "metres: 1}", "wires.W9.from",
         "X1 is absent here: none of its 'when' holds (with plug=false)"),
    "nothing connected": Slip('unused: ["87a"]', "access_minutes: 1", "parts.K1",
                              "terminal K1.87a is connected to nothing"),
    "unused but used": Slip('unused: ["87a"]', "unused: [87, 87a]", "parts.K1.unused",
         "terminal 87 is connected to W8; it cannot be unused"),
    "unused unknown": Slip('unused: ["87a"]', "unused: [87b, 87a]", "parts.K1.unused",
                           "no terminal '87b'"),
    "splice to nowhere": Slip("feeds:", "  W20: {from: G1, to: XS2, colour: BK, mm2: 1, "
                              "metres: 1}\nfeeds:", "wires.W20.to", "no part or node 'XS2'"),
    "splice at an end": Slip(
        "wires:\n", "  XS2: {kind: splice}\nwires:\n  W20: {from: G1, to: XS2, colour: BK, mm2: 1, "
        "metres: 1}\n", "parts.XS2", "joins fewer than two", "XS2: {"),
    "too many wires": Slip(
        "wires:\n", "wires:\n" + "".join(
            f"  W{i}: {{from: GB1.-, to: G1, colour: BK, mm2: 1, metres: 1}}\n"
            for i in range(100, 500)), "parts", "more than 400 parts and wires", "parts:"),
    "splice alone": Slip("  XS1: {kind: splice}", "  XS1: {kind: splice}\n  XS2: {kind: splice}",
                         "parts.XS2", "connected to nothing", "XS2"),
    "an island": Slip("  XS1: {kind: splice}",
         "  XS1: {kind: splice}\n  R8: {kind: resistor, ohm: 1, at: [p, q]}\n"
         "  R9: {kind: resistor, ohm: 1, at: [p, q]}", "parts.R8", "no connection to chassis",
         "R8"),
    # feeds and layout
    "feed unknown": Slip("{GB1.+: live", "{GB2.+: live", "feeds.GB2.+", "no part or node 'GB2.+'"),
    "layout unknown": Slip("  M1: {column", "  M2: {column", "layout.M2", "no part 'M2'"),
    "layout no mapping": Slip("  M1: {column: 3, beside: [K1, \"=lamps\"]}", "  M1: 3", "layout.M1",
                              "expected drawing hints"),
    # YAML
    "tag": Slip("name: left stud", "name: !!python/name:os.system x", "parts.G1.name",
                "tags (!name) are not used"),
    "anchor": Slip("name: left stud", "name: &a left", "parts.G1.name", "anchors (&name)"),
    "alias": Slip("name: left stud", "name: *a", "parts.G1.name", "aliases (*name)"),
    "tab": Slip("  G1: {kind", "\tG1: {kind", "", "spaces, not tabs"),
    "colon in a text": Slip("title: Pump with", "title: Pump: with", "", "in quotes"),
    "brace left open": Slip("name: left stud}", "name: left stud", "", "not readable as YAML",
                            "wires:"),
    "list as a field name": Slip("wires:", "? [a, b]\n: c\nwires:", "", "must be one word"),
    "deep": Slip("column: 3", "column: " + "[" * 20 + "]" * 20, "layout.M1.column" + "[1]" * 10,
                 "nested more than 12 deep"),
    "unprintable": Slip("name: left stud", 'name: "a\\x07b"', "parts.G1.name", "cannot be printed"),
    "long text": Slip("name: left stud", "name: " + "a" * 1001, "parts.G1.name", "more than 1000"),
}  # fmt: skip

NETWORK_SLIPS = {
    "no source": Slip("  V1: {kind: source, volts: 10, at: [top, 0]}\n  R1: {kind",
                      "  R1: {kind", "parts.R5.at[2]", "no part or node 'V1.-'",
                      "  R5") ,
    "no source left": Slip("{kind: source, volts: 10", "{kind: resistor, ohm: 10", "parts.V1",
                           "begins with R"),
    "nodes too few": Slip("[top, left]", "[top]", "parts.R1.at", "one node each for 1, 2; found 1"),
    "nodes in a word": Slip("[top, left]", "top", "parts.R1.at", "a list of nodes"),
    "terminal unknown": Slip("{1: top, 2: right}", "{1: top, 3: right}", "parts.R2.at.3",
                             "R2 has no terminal '3'"),
    "node name": Slip("[top, left]", '["top!", left]', "parts.R1.at[1]", "cannot be the name"),
    "node of one terminal": Slip("[top, left]", "[top, loft]", "parts.R1",
                                 "R1.2 is connected to nothing"),
    "both ends on one node": Slip("[left, 0]", "[left, left]", "parts.R4", "the same point, left"),
    "at another at": Slip("at: [left, 0]", "at: [left, R5.2]", "parts.R4.at[2]",
                          "R5.2 has an 'at' itself"),
    "negative ohm": Slip("ohm: 12, at: [top", "ohm: -12, at: [top", "parts.R1.ohm", "not below 0"),
    "infinite source": Slip("volts: 10", "volts: inf", "parts.V1.volts", "found 'inf'"),
    "reference untouched": Slip("reference: 0", "reference: 7", "reference",
                                "nothing is connected to 7"),
}  # fmt: skip


def check(slip: Slip, valid: str) -> None:
    """The slip gives its error."""
    assert valid.count(slip.old) >= 1
    text = valid.replace(slip.old, slip.new, 1)
    with pytest.raises(FileError) as caught:
        parse_template(text, "sample.yaml")
    error = caught.value
    assert slip.says in error.problem
    assert error.place.field == slip.field
    where = text.index(slip.line_of) if slip.line_of else valid.index(slip.old)
    assert error.place.line == text[:where].count("\n") + 1
    assert str(error).startswith(f"sample.yaml, line {error.place.line}")
    assert "\n" not in str(error)
    assert len(error.problem) < 300


@pytest.mark.parametrize("name", SLIPS)
def test_a_slip_in_a_vehicle_template_is_named(name: str) -> None:
    """Line, field path and problem are reported for each kind of mistake."""
    check(SLIPS[name], SAMPLE)


@pytest.mark.parametrize("name", NETWORK_SLIPS)
def test_a_slip_in_a_bare_network_is_named(name: str) -> None:
    """The same for networks written with `at`."""
    check(NETWORK_SLIPS[name], NETWORK)


def test_the_files_that_the_slips_change_are_valid() -> None:
    """Without a slip there is no error, so each error above is the slip's."""
    assert parse_template(SAMPLE).build().system_volts == 12.0
    assert parse_template(NETWORK).build().system_volts == 10.0


UNUSUAL = """
format: 1
name: unusual
title: A part that hangs loose where two choices meet
system: 12
reference: 0
parameters:
  a: {choices: [one, two], default: one}
  b: {choices: [false, true], default: false}
  c: {range: [1, 5], step: 1, default: 1}
parts:
  V1: {kind: source, volts: 12, at: [top, 0]}
  R1: {kind: resistor, ohm: "=c", at: [top, 0]}
  R2: {kind: resistor, ohm: 1, at: [top, "='loose' if a == 'two' and b else 0"]}
"""


def test_a_mistake_of_a_combination_names_the_values_that_make_it() -> None:
    """Of three unusual values the two that bring the mistake out are told, the third is not."""
    template = parse_template(UNUSUAL, "unusual.yaml")
    with pytest.raises(FileError, match=r"R2\.2 is connected to nothing") as caught:
        template.build({"c": 4, "b": True, "a": "two"})
    assert caught.value.problem.endswith("(with a=two b=true)")
    assert caught.value.place.field == "parts.R2"
