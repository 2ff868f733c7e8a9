"""A small template that uses every section of the format, and one bare network."""

SAMPLE = """\
format: 1
name: sample
title: Pump with pressure switch
summary: A pump behind a relay.
topics: [relay, shared-ground]
cautions: ["The pump starts by itself."]
system: "=system"
parameters:
  system: {choices: [12, 24], default: 12, unit: V, about: nominal voltage}
  feed: {range: [0.8, 2.5], step: 0.1, default: 1.5, unit: m}
  lamps: {choices: [1, 2], default: 1}
  plug: {choices: [true, false], default: true}
  rated: {value: "=13.5 if system == 12 else 28"}
require: ["feed < 3", "feed * lamps <= 4"]
conditions:
  pressure: {positions: [low, high], rest: high, label: line pressure}
parts:
  GB1: {kind: battery, emf_volts: "=12.6 * system / 12", name: battery, place: engine bay}
  F1: {kind: fuse, amps: 15, name: pump fuse, access_minutes: 0.5, weights: {blown: 3}}
  S1:
    kind: switch
    name: pump switch
    pins: ["30", "1"]
    positions: {off: [], on: ["30-1"]}
  B1:
    kind: switch
    style: pressure
    pins: [1, 2]
    positions: {high: [], low: [1-2]}
    control: pressure
  B2: {kind: sender, control: pressure, positions: [low, high], ohms: [200, 20]}
  K1: {kind: relay, coil_ohm: 85, contact: changeover, unused: ["87a"]}
  X1: {kind: connector, cavities: ["1"], contact_ohm: 0.004, when: plug}
  XS1: {kind: splice}
  M1: {kind: motor, volts: "=rated", run_amps: 6, stall_amps: 30, name: pump motor}
  E1:
    - {when: "lamps == 1", kind: lamp, watts: 5, volts: "=rated", unobserved: true}
    - {when: "lamps == 2", kind: lamp, watts: 10, volts: "=rated"}
  R1: {kind: resistor_pack, ohms: [100, "=4 * rated"], unused: ["2"]}
  G1: {kind: ground, name: left stud}
wires:
  W1: {from: GB1.+, to: F1.1, colour: RD, mm2: 4, metres: "=feed"}
  W2: {from: F1.2, to: XS1, colour: RD, mm2: 2.5, metres: 1}
  W3: {from: XS1, to: S1.30, colour: RD, mm2: 1, metres: 1}
  W4: {from: S1.1, to: B1.1, colour: BU, mm2: 1, metres: 1, access_minutes: 2, weights: {open: 2}}
  W5: {from: B1.2, to: K1.86, colour: BU, mm2: 1, metres: 1}
  W6: {from: K1.85, to: G1, colour: BK, mm2: 1, metres: 1}
  W7: {from: XS1, to: K1.30, colour: RD, mm2: 2.5, metres: 1}
  W8:
    - {when: plug, from: K1.87, to: X1.1a, colour: GN, mm2: 2.5, metres: 1}
    - {from: K1.87, to: M1.1, colour: GN, mm2: 2.5, metres: 2}
  W9: {from: X1.1b, to: M1.1, colour: GN, mm2: 2.5, metres: 1, when: plug}
  W10: {from: M1.2, to: G1, colour: BK, mm2: 2.5, metres: 1}
  W11: {from: GB1.-, to: G1, colour: BK, mm2: 16, metres: 0.4}
  W12: {from: S1.1, to: E1.1, colour: GNWH, mm2: 0.5, metres: 1}
  W13: {from: E1.2, to: G1, colour: BK, mm2: 0.5, metres: 1}
  W14: {from: S1.1, to: R1.1, colour: WH, mm2: 0.5, metres: 1}
  W15: {from: R1.3, to: B2.1, colour: WH, mm2: 0.5, metres: 1}
  W16: {from: B2.2, to: G1, colour: BK, mm2: 0.5, metres: 1}
feeds: {GB1.+: live at all times}
layout:
  M1: {column: 3, beside: [K1, "=lamps"]}
"""

NETWORK = """\
format: 1
name: network
title: Bridge
system: 10
reference: 0
parts:
  V1: {kind: source, volts: 10, at: [top, 0]}
  R1: {kind: resistor, ohm: 12, at: [top, left]}
  R2: {kind: resistor, ohm: inf, at: {1: top, 2: right}}
  R3: {kind: resistor, ohm: 0, at: [left, right]}
  R4: {kind: resistor, ohm: 18, at: [left, 0]}
  R5: {kind: resistor, ohm: 12, at: [right, V1.-]}
"""
