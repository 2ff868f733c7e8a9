"""A template of the parts that move by themselves; terminal numbers are those of DIN 72552."""

MOVED = """\
format: 1
name: moved
title: Starting, charging, wiping and flashing
system: 12
conditions:
  engine: {positions: [stopped, cranked, running], rest: stopped}
  after-run: {positions: [running, elapsed], label: time of the relay}
  tank: {positions: [empty, full], rest: full}
parts:
  GB1: {kind: battery, emf_volts: 12.6, at: [live, chassis]}
  S1: {kind: switch, pins: ["1", "2"], positions: {off: [], on: [1-2]}, at: [live, on]}
  S2: {kind: switch, pins: ["1", "2"], positions: {off: [], on: [1-2]}, at: [live, start]}
  K1: {kind: starter_solenoid, pull_ohm: 0.3, at: [start, live, motor, chassis]}
  M1: {kind: motor, volts: 12, run_amps: 150, stall_amps: 600, friction: 0.6, at: [motor, chassis]}
  GA1: {kind: alternator, control: engine, volts: 14.4, at: [live, lamp, chassis, live]}
  P1: {kind: lamp, watts: 3, volts: 13.5, at: [on, lamp]}
  K2: {kind: flasher, least_amps: 2.4, at: [on, turn, chassis]}
  E1: {kind: lamp, watts: 21, volts: 13.5, at: [turn, chassis]}
  E2: {kind: lamp, watts: 21, volts: 13.5, at: [turn, chassis]}
  K3: {kind: relay, timer: after-run, at: [live, chassis, live, wiper]}
  S3:
    kind: switch
    pins: [a, b, c]
    positions: {slow: [a-b], fast: [a-c]}
    at: [wiper, low, high]
  M2:
    kind: two_speed_motor
    volts: 13
    low_amps: 3
    high_amps: 5
    stall_amps: 25
    at: [low, high, chassis]
  B1: {kind: sender, control: tank, positions: [empty, full], ohms: [180, 20], at: [level, chassis]}
  P2: {kind: gauge, ohm: 60, full_amps: 0.15, at: [on, level]}
"""
