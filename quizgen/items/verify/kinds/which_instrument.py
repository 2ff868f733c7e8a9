"""Verifies "which check, with which result, confirms a suspicion".

1. what the stem tells is what the circuit does with the suspected fault in it
2. the key is safe, shows what it says with the fault, and something plainly else on the sound
   circuit and with any other fault that would look the same
3. each wrong option is unsafe, or shows something else with the fault, or the same without it
4. the words say what the claims are
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import isinf

from quizgen.base.errors import InputError
from quizgen.faults import Fault, describe, inject, parse_fault, universe
from quizgen.items.act import Act, parse_act
from quizgen.items.item import Item, Option
from quizgen.items.verify.act_text import UNFUSED, check_act_text, check_state_told
from quizgen.items.verify.bench import Bench, Benches
from quizgen.items.verify.instruments import Display, look_at
from quizgen.items.verify.kinds.safe_procedure import (
    WORDS,
    apart,
    check_sighting,
    check_volts,
    may_look_so,
)
from quizgen.items.verify.words import check_words

MOST_RIVALS = 3  # named
OFF = 0.02  # share by which a figure may be off


def check(item: Item, benches: Benches) -> Iterator[str]:
    """All that is wrong with an item of this kind. May raise InputError or CircuitError."""
    bench = benches.at(item.origin.positions)
    fault = parse_fault(item.origin.fault)
    if item.told != (item.origin.fault,):
        yield f"the suspicion is {item.told}; the fault put in is {fault}"
    yield from check_sighting(item, bench, fault)
    yield from check_words(bench, item, fault)
    yield from check_state_told(bench.circuit, item)
    clause = describe(bench.circuit, fault, names=False)
    if clause.casefold() not in " ".join(item.stem).casefold():
        yield f"the stem does not say the suspicion that {clause}"
    kind = bench.circuit.part(fault.part).kind
    if item.key_kind != kind:
        yield f"the item is filed under {item.key_kind!r}; {fault.part} is a {kind}"
    for option in item.options:
        yield from _check_option(item, bench, fault, option)


def _check_option(item: Item, bench: Bench, fault: Fault, option: Option) -> Iterator[str]:
    text, arrow, said = option.claim.partition(" -> ")
    if not arrow:
        raise InputError(f"{option.claim!r} does not say what the check shows")
    act = replace(parse_act(text), moves=item.origin.positions)
    if act.instrument == UNFUSED:
        raise InputError(f"{option.claim!r}: a bare wire shows nothing")
    yield from check_act_text(bench.circuit, act, option.text)
    if option.text.rpartition(": ")[2] != WORDS.get(said, said):
        yield f"the option reads {option.text!r}; it claims {said!r}"
    faulty, sound = look_at([(inject(bench.circuit, fault), act), (bench.circuit, act)])
    yield from _check_figures(option, faulty, sound)
    if option.is_key:
        yield from _check_key(item, bench, fault, (act, said, faulty, sound))
    elif not sound.unsafe:
        yield from _check_wrong(option, said, faulty, sound)
        yield from _check_rationale(option, faulty)
    else:
        yield from check_volts(bench, act, option)


def _check_key(
    item: Item, bench: Bench, fault: Fault, key: tuple[Act, str, Display, Display]
) -> Iterator[str]:
    act, said, faulty, sound = key
    for display in (faulty, sound):
        if display.unsafe or display.pointless:
            yield f"the key is no good: {display.unsafe or display.pointless}"
            return
    if faulty.sure != said:
        yield f"the key says {said}; with the fault it shows {' or '.join(faulty.shown)}"
    if not apart(faulty, sound):
        yield f"the key shows {sound.shown} on the sound circuit: that confirms nothing"
    rivals = [f.fault for f in universe(bench.circuit) if f.fault.part != fault.part]
    bench.prepare(rivals)
    rivals = [r for r in rivals if may_look_so(item, bench, r)]
    displays = look_at([(inject(bench.circuit, rival), act) for rival in rivals])
    same = [r for r, d in zip(rivals, displays, strict=True) if not apart(faulty, d)]
    for rival in same[:MOST_RIVALS]:
        yield f"{rival} looks the same and gives the key's reading as well"
    yield from _check_rationale(item.key, faulty)


def _check_wrong(option: Option, said: str, faulty: Display, sound: Display) -> Iterator[str]:
    """It does not show that, or shows it either way."""
    if faulty.unsafe or faulty.pointless or not faulty.sure:
        yield f"{option.claim}: nobody can say what it shows"
    elif faulty.sure == said and apart(faulty, sound):
        yield f"{option.claim} is right as well"
    elif faulty.sure != said and not _far(said, faulty):
        yield f"{option.claim} is hardly different from {faulty.sure}"
    if (option.misconception == "cannot-tell") != (faulty.sure == said):
        yield f"{option.claim} is said to be wrong by {option.misconception!r}; it is not"


def _far(said: str, display: Display) -> bool:
    """What is said differs from what is shown by more than the instrument's tolerance."""
    value = _number(said)
    if value is None or isinf(display.low):
        return said != display.sure
    return abs(value - display.low) > display.tolerance


def _number(text: str) -> float | None:
    """The figure of a display in its base unit; None for OL or what a lamp does."""
    number, _, unit = text.replace("\N{MINUS SIGN}", "-").partition(" ")
    try:
        return float(number) * {"k": 1e3, "M": 1e6}.get(unit[:1] if len(unit) > 1 else "", 1.0)
    except ValueError:
        return None


def _check_rationale(option: Option, faulty: Display) -> Iterator[str]:
    shown = WORDS.get(faulty.sure, faulty.sure)
    rationale = " ".join(option.rationale)
    if shown not in rationale and shown[:1].upper() + shown[1:] not in rationale:
        yield f"the rationale of {option.claim} does not say that it shows {shown}"


def _check_figures(option: Option, faulty: Display, sound: Display) -> Iterator[str]:
    if sound.unsafe:
        if option.figures:
            yield f"{option.claim} cannot be done and has figures"
        return
    expected = {f"with the fault: {faulty.sure}": faulty, f"sound: {sound.sure}": sound}
    if [figure.name for figure in option.figures] != list(expected):
        yield f"{option.claim}: its figures should be called {list(expected)}"
        return
    for figure, display in zip(option.figures, expected.values(), strict=True):
        value = -1.0 if isinf(display.low) else display.low
        if not abs(figure.value - value) <= OFF * abs(value) + 0.005:
            yield f"{option.claim}: {figure.name} stands for {value:.4g}, not {figure.value:.4g}"
