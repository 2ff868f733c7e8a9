"""Question kind: work out a figure by Ohm's and Kirchhoff's laws.

A drop, a current, a resistance, a power, what is left at a load, a fuse, a cross-section. The
stem gives what meters show on the circuit and what data sheets say; the answer as worked out
at school from these has to agree with the solver's. Wrong answers are what known wrong models
come to with the same figures (`quizgen.items.reckoning`).

The claim of an option is the quantity and its value: `resistance:X1.2a,X1.2b=0.242`.
"""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import dataclass, replace
from itertools import combinations
from math import isfinite

from quizgen.base.errors import UnprovableError
from quizgen.circuit.netlist import Circuit
from quizgen.faults.wording import point_name
from quizgen.instruments.measure import measure
from quizgen.instruments.measurement import Measurement
from quizgen.items.act_words import display
from quizgen.items.item import Figure, Item, Number, Option, Proof, Reading, Response, WrongNumber
from quizgen.items.kind import Kind
from quizgen.items.material import Material, Request
from quizgen.items.rationale import claim_text
from quizgen.items.reckoning import FORMS
from quizgen.items.reckoning.problem import Asked, Form, Reckoned, Setting, Shown, Slip
from quizgen.items.reckoning.settings import poor_joints, sound_settings
from quizgen.items.sentences import Sentences, capital, state_words

NAME = "compute"
USUALLY = (2, 1)  # to one: a figure to write has no options to try out, and takes room on a sheet
MOST_TRIED = 24
APART = 0.12  # share by which a wrong answer differs from the right one at least
MOST_RATIO = 12.0  # of a wrong answer to the right one: more is no answer anybody believes
LEAST_TALE = 2  # wrong answers without which there is nothing to choose


@dataclass(frozen=True)
class Draft:
    """A sum that is asked, worked out, with its wrong answers chosen."""

    form: Form
    asked: Asked
    setting: Setting
    readings: tuple[Reading, ...]
    shown: Shown
    reckoned: Reckoned
    slips: tuple[Slip, ...]

    @property
    def in_thousandths(self) -> bool:
        """Currents under an ampere are given in milliampere."""
        return self.form.unit == "A" and self.form.tolerance > 0 and self.reckoned.value < 1.0

    @property
    def unit(self) -> str:
        return "mA" if self.in_thousandths else self.form.unit

    @property
    def decimals(self) -> int:
        """As many as make three digits of the answer, or as the instrument has."""
        value = self.scaled(self.reckoned.value)
        if not self.form.tolerance:
            values = (value, *(slip.value for slip in self.slips))
            return max(len(f"{v:g}".partition(".")[2]) for v in values)
        if self.form.decimals is not None and not self.in_thousandths:
            return self.form.decimals
        return 0 if value >= 100 else 1 if value >= 10 else 2 if value >= 0.2 else 3

    def scaled(self, value: float) -> float:
        return 1000.0 * value if self.in_thousandths else value

    def rounded(self, value: float) -> float:
        return round(self.scaled(value), self.decimals)

    def text(self, value: float) -> str:
        """The value as an option prints it."""
        return f"{self.scaled(value):.{self.decimals}f} {self.unit}"


def make(material: Material, request: Request, rng: random.Random) -> Item:
    """A proved sum about the material's circuit, forms asked less often first.

    Raises UnprovableError when no sum tried has an answer that can be told from wrong ones.
    """
    same = [i for i in request.used if i.kind == NAME]
    had = Counter(i.key_claims[0].partition(":")[0] for i in same)
    asked = {i.key_claims[0].partition("=")[0] for i in same if i.family == material.template}
    pool = [entry for entry in _pool(material, rng) if entry[1].quantity not in asked]
    response = request.response or rng.choices(KIND.responses, USUALLY)[0]
    for _ in range(MOST_TRIED):
        if not pool:
            break
        form, what, setting = _pick(pool, had, rng)
        pool = [entry for entry in pool if entry[1] is not what]
        draft = _draft(form, what, setting, request.options, rng)
        if draft is not None:
            return _write(draft, material, response, rng)
    raise UnprovableError(
        f"{material.template}: nothing to work out with {dict(material.moves)}; "
        "try other positions or parameters"
    )


# --- where and what -------------------------------------------------------------------------


def _pool(material: Material, rng: random.Random) -> list[tuple[Form, Asked, Setting]]:
    settings = [*sound_settings(material, rng)]
    settings += list(poor_joints(settings, rng))
    return [
        (form, what, setting)
        for setting in settings
        for form in FORMS.values()
        for what in form.find(setting, rng)
    ]


def _pick(
    pool: list[tuple[Form, Asked, Setting]], had: Counter[str], rng: random.Random
) -> tuple[Form, Asked, Setting]:
    """First a form, the less asked the likelier, then any sum of it."""
    names = sorted({form.name for form, _, _ in pool})
    name = rng.choices(names, [4.0 ** -had[n] for n in names])[0]
    return rng.choice([entry for entry in pool if entry[0].name == name])


# --- the sum --------------------------------------------------------------------------------


def _draft(
    form: Form, what: Asked, setting: Setting, options: int, rng: random.Random
) -> Draft | None:
    """The sum worked out; None if school and solver disagree or too few wrong answers are left."""
    readings = tuple(_read(setting, lead) for lead in what.leads)
    shown = tuple(r.volts for r in readings if r is not None)
    if len(shown) < len(readings) or min(shown) <= 0.0:
        return None
    reckoned = form.reckon(what, shown)
    if abs(reckoned.value - what.exact) > 0.6 * form.tolerance * abs(what.exact):
        return None
    slips = _tell_apart(form, reckoned, rng)
    if len(slips) < max(LEAST_TALE, options - 2):
        return None
    kept = _by_rank(reckoned.value, slips, min(options - 1, len(slips)), rng)
    draft = Draft(form, what, setting, tuple(r for r in readings if r), shown, reckoned, kept)
    texts = [draft.text(v) for v in (reckoned.value, *(s.value for s in kept))]
    return draft if len(set(texts)) == len(texts) else None


def _read(setting: Setting, lead: Measurement) -> Reading | None:
    """What the instrument shows, if it shows one thing and may be used so."""
    seen = measure(setting.circuit, lead)
    if seen.refused or seen.warnings or seen.doubts or seen.raw is None or not isfinite(seen.raw):
        return None
    clamp = lead.instrument == "clamp-ammeter"
    circuit = setting.circuit
    return Reading(
        instrument=lead.instrument,
        red_node=lead.red,
        black_node=lead.black,
        red=f"around wire {lead.red}" if clamp else point_name(circuit, lead.red, names=False),
        black="" if clamp else point_name(circuit, lead.black, names=False),
        state=capital(state_words(circuit, dict(setting.moves))),
        shown=display(seen),
        volts=float(display(seen).split()[0].replace("−", "-")),
    )


def _tell_apart(form: Form, reckoned: Reckoned, rng: random.Random) -> list[Slip]:
    """Wrong answers that nobody could take for the right one or for each other."""
    found: list[Slip] = []
    slips = list(reckoned.slips)
    rng.shuffle(slips)
    for slip in slips:
        values = [reckoned.value, *(s.value for s in found)]
        fits = isfinite(slip.value) and slip.value > 0.0
        if not fits or any(s.misconception == slip.misconception for s in found):
            continue
        ratio = slip.value / reckoned.value
        apart = APART if form.tolerance == 0.0 else max(3.0 * form.tolerance, APART / 2.0)
        if all(abs(slip.value - v) > apart * v for v in values) and (
            1.0 / MOST_RATIO < ratio < MOST_RATIO
        ):
            found.append(slip)
    return found


def _by_rank(value: float, slips: list[Slip], count: int, rng: random.Random) -> tuple[Slip, ...]:
    """So many of the wrong answers that the right one may stand anywhere among them by size."""
    ways: dict[int, list[tuple[Slip, ...]]] = {}
    for some in combinations(slips, count):
        ways.setdefault(sum(s.value < value for s in some), []).append(some)
    return rng.choice(ways[rng.choice(sorted(ways))])


# --- the words ------------------------------------------------------------------------------


def _write(draft: Draft, material: Material, response: Response, rng: random.Random) -> Item:
    sentences = Sentences(NAME, rng)
    why = Sentences("misconceptions", rng, "sentences")
    circuit, setting = material.circuit, draft.setting
    name = _variant(draft)
    number = response == "number"
    question = sentences.say(f"ask_{name}", **draft.asked.words)
    return Item(
        **KIND.label(material, rng),
        key_kind=circuit.part(draft.asked.about).kind,
        stem=_stem(draft, circuit, sentences),
        readings=draft.readings,
        question=f"{question} {_how(draft, sentences)}" if number else question,
        options=() if number else _options(draft, sentences, why),
        origin=replace(material, moves=setting.moves).origin(
            str(setting.fault) if setting.fault else ""
        ),
        proof=_proof(draft),
        response=response,
        number=_number(draft, sentences, why) if number else None,
        solution=_key_words(draft, sentences) if number else (),
        told=(setting.claim.key,) if setting.claim else (),
        in_natural_order=not number,
    )


def _variant(draft: Draft) -> str:
    return "_".join(word for word in (draft.form.name, draft.asked.variant) if word)


def _stem(draft: Draft, circuit: Circuit, sentences: Sentences) -> tuple[str, ...]:
    setting = draft.setting
    state = state_words(circuit, dict(setting.moves))
    found = [f"{capital(state)}." if state else sentences.say("all_at_rest")]
    if setting.claim:
        found.append(sentences.say("told", claim=claim_text(circuit, setting.claim)))
    else:
        found.append(sentences.say("sound"))
    given = sentences.say(f"given_{_variant(draft)}", **draft.asked.words)
    return tuple(text for text in (" ".join(found), given) if text)


def _how(draft: Draft, sentences: Sentences) -> str:
    if not draft.form.tolerance:
        return sentences.say("one_rating", unit=draft.unit)
    places = f"decimals_{draft.decimals}" if draft.decimals else "whole"
    return sentences.say(
        "one_number", unit=draft.unit, decimals=sentences.say(places),
        percent=f"{100.0 * draft.form.tolerance:g}",
    )  # fmt: skip


def _key_words(draft: Draft, sentences: Sentences) -> tuple[str, ...]:
    """The sum, and what the answer is good for."""
    value = draft.text(draft.reckoned.value)
    words = dict(draft.asked.words) | {"value": value}
    found = draft.form.would(draft.asked, draft.shown, draft.reckoned.value).get("found", "")
    return (
        sentences.say("work", working=draft.reckoned.working, value=value),
        sentences.say(f"next_{_variant(draft)}", **words, found=found),
    )


def _wrong_words(draft: Draft, slip: Slip, sentences: Sentences, why: Sentences) -> tuple[str, ...]:
    """What the meters would have to show for it, how one comes to it, why."""
    words = draft.form.would(draft.asked, draft.shown, slip.value)
    sentence = words.pop("sentence", f"would_{_variant(draft)}")
    value = draft.text(slip.value)
    return (
        sentences.say(sentence, **(dict(draft.asked.words) | words | {"value": value})),
        sentences.say("slip_taken" if slip.taken else "slip", working=slip.working, value=value),
        why.say(slip.misconception),
    )


def _options(draft: Draft, sentences: Sentences, why: Sentences) -> tuple[Option, ...]:
    """By size, the smallest first."""
    quantity = draft.asked.quantity
    right = Option(
        claim=f"{quantity}={draft.rounded(draft.reckoned.value):g}",
        text=draft.text(draft.reckoned.value),
        is_key=True,
        rationale=_key_words(draft, sentences),
        figures=(Figure(name=quantity, value=draft.asked.exact, unit=draft.form.unit),),
    )
    found = [(draft.reckoned.value, right)]
    for slip in draft.slips:
        option = Option(
            claim=f"{quantity}={draft.rounded(slip.value):g}",
            text=draft.text(slip.value),
            is_key=False,
            rationale=_wrong_words(draft, slip, sentences, why),
            misconception=slip.misconception,
            figures=(Figure(name=slip.misconception, value=slip.value, unit=draft.form.unit),),
        )
        found.append((slip.value, option))
    return tuple(option for _, option in sorted(found, key=lambda pair: pair[0]))


def _number(draft: Draft, sentences: Sentences, why: Sentences) -> Number:
    value, tolerance = draft.scaled(draft.reckoned.value), draft.form.tolerance
    return Number(
        quantity=draft.asked.quantity,
        value=draft.rounded(draft.reckoned.value),
        low=round(value * (1.0 - tolerance), 6),
        high=round(value * (1.0 + tolerance), 6),
        unit=draft.unit,
        decimals=draft.decimals,
        wrong=tuple(
            WrongNumber(
                value=draft.rounded(slip.value),
                misconception=slip.misconception,
                rationale=_wrong_words(draft, slip, sentences, why),
            )
            for slip in draft.slips
        ),
    )


def _proof(draft: Draft) -> Proof:
    """The solver's answer, the sum's, and the figures from data sheets."""
    unit = draft.form.unit
    return Proof(
        figures=(
            Figure(name="by the solver", value=draft.asked.exact, unit=unit),
            Figure(name="by the sum", value=draft.reckoned.value, unit=unit),
            *draft.asked.given,
        )
    )


KIND = Kind(
    name=NAME,
    about="work out a drop, a current, a resistance, a power, a fuse or a wire",
    level="predict",
    responses=("one", "number"),
    make=make,
)
