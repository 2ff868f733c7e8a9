"""Circuit templates: data files from which circuits are built.

>>> template = find_template("templates/circuits/nothing.yaml")
Traceback (most recent call last):
quizgen.base.errors.InputError: templates/circuits/nothing.yaml: no such file

The file format is described in `templates/circuits/README.md`. `load_template` reads and
checks a file; it also builds the circuit at the defaults and with each parameter moved to
its other values in turn, so that a mistake is found when the file is loaded. `find_template`
spares shipped files that: a test does it for all of them.
"""

from __future__ import annotations

import random
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from itertools import islice
from pathlib import Path

from quizgen.base.errors import FileError, InputError
from quizgen.base.paths import data_folder
from quizgen.base.suggest import shown, suggest
from quizgen.circuit.build import build_circuit
from quizgen.circuit.expressions import Value, same
from quizgen.circuit.netlist import Circuit
from quizgen.circuit.parameters import Parameter, Parameters, in_words
from quizgen.circuit.specs import Specs, read_specs
from quizgen.circuit.values import text
from quizgen.circuit.yaml_reader import Table, fail, parse, read_file, written

MAX_TRIALS = 100  # settings built on loading
TRIAL_WORK = 2_000_000  # characters read in all trials, so that a huge file is still quick


@dataclass(frozen=True)
class Template:
    """A parametric circuit, read from a file and checked."""

    path: Path
    specs: Specs

    @property
    def name(self) -> str:
        """Its name, also that of the file."""
        return self.specs.name

    @property
    def title(self) -> str:
        """The title at the default setting."""
        return text(self.specs.title, self.specs.parameters.all_values(self.defaults))

    @property
    def defaults(self) -> dict[str, Value]:
        """The default of every parameter."""
        return self.specs.parameters.complete({})

    @property
    def topics(self) -> tuple[str, ...]:
        """What can be taught with it, as kebab-case names."""
        return self.specs.topics

    @property
    def parameters(self) -> tuple[Parameter, ...]:
        """What a user can set."""
        return self.specs.parameters.settable

    def build(self, settings: Mapping[str, object] | None = None) -> Circuit:
        """The circuit at a setting; parameters not named keep their defaults.

        Raises InputError for a setting that is not allowed, FileError when the template
        makes no circuit of it; both name the values that it takes, beside the defaults.
        """
        complete = self.specs.parameters.complete(settings or {})
        try:
            return self._circuit(complete)
        except InputError as error:
            setting = in_words(self._to_blame(complete, str(error)))
            if not setting:
                raise
            if isinstance(error, FileError):
                raise FileError(error.place, f"{error.problem} (with {setting})") from None
            raise InputError(f"{self.name}: {setting} {error}") from None

    def _circuit(self, complete: Mapping[str, Value]) -> Circuit:
        parameters = self.specs.parameters
        values = parameters.all_values(complete)
        broken = parameters.broken_requirement(values)
        if broken:
            raise InputError(f"does not meet {shown(broken.text)}")
        return build_circuit(self.specs, values)

    def _to_blame(self, complete: Mapping[str, Value], mistake: str) -> dict[str, Value]:
        """Those values of a setting, other than defaults, that it takes to make a mistake show."""
        defaults = self.defaults
        blamed = {name: v for name, v in complete.items() if not same(v, defaults[name])}
        for name in tuple(blamed):
            fewer = {other: v for other, v in blamed.items() if other != name}
            if self._mistake({**defaults, **fewer}) == mistake:
                blamed = fewer
        return blamed

    def _mistake(self, complete: Mapping[str, Value]) -> str:
        try:
            self._circuit(complete)
        except InputError as error:
            return str(error)
        return ""

    def draw(
        self, rng: random.Random, fixed: Mapping[str, object] | None = None
    ) -> dict[str, object]:
        """A random setting that meets the requirements and keeps the values in `fixed`.

        Raises InputError when `fixed` is not allowed or no setting was found.
        """
        return dict(self.specs.parameters.draw(rng, fixed or {}))

    def parse_setting(self, name: str, words: str) -> Value:
        """The value that the text `words` means for parameter `name`. Raises InputError."""
        return self.specs.parameters.parse(name, words)


def load_template(path: Path | str, *, tried: bool = True) -> Template:
    """Read and check a template file; unless `tried` is False also with other parameter values.

    Raises InputError when there is no readable file, FileError when something in it is wrong.
    """
    file = Path(path)
    template = _checked(file, read_file(file), tried)
    if template.name != file.stem:
        name = template.specs.root.entries["name"]
        fail(name, f"expected the name of the file, {file.stem}, found {shown(template.name)}")
    return template


def parse_template(words: str, file: Path | str = "template.yaml") -> Template:
    """The template written in the text `words`; errors name `file`. Raises FileError."""
    return _checked(Path(file), parse(words, file))


def find_template(name_or_path: str) -> Template:
    """A shipped template by its name, or the one in a file.

    Raises InputError when there is neither.
    """
    words = name_or_path.strip()
    if words in shipped_templates():
        return _shipped(_folder() / f"{words}.yaml")
    if words.endswith((".yaml", ".yml")) or "/" in words or "\\" in words:
        return load_template(Path(words))
    hint = suggest(words, shipped_templates())
    raise InputError(f"no circuit template {shown(words)}{hint} (or name a .yaml file)")


@cache
def _shipped(file: Path) -> Template:
    """What travels with the program does not change while it runs, and a test has tried it all."""
    return load_template(file, tried=False)


def shipped_templates() -> tuple[str, ...]:
    """The names of the templates that travel with the program, sorted."""
    return tuple(sorted(path.stem for path in _folder().glob("*.yaml")))


def _folder() -> Path:
    return data_folder("templates") / "circuits"


def _checked(file: Path, root: Table, tried: bool = True) -> Template:
    specs = read_specs(root)
    template = Template(file, specs)
    parameters = specs.parameters
    defaults = template.defaults
    broken = parameters.broken_requirement(parameters.all_values(defaults))
    if broken:
        fail(broken, f"the default values do not meet {shown(broken.text)}")
    template.build()
    for setting in islice(_trials(parameters, defaults), _most_trials(root) if tried else 0):
        try:
            template.build(setting)
        except FileError:
            raise
        except InputError:
            continue  # the requirements rule it out
    return template


def _trials(parameters: Parameters, defaults: Mapping[str, Value]) -> Iterator[dict[str, Value]]:
    """Settings that differ from the defaults in one parameter."""
    for parameter in parameters.settable:
        for value in parameter.corners():
            if not same(value, defaults[parameter.name]):
                yield {parameter.name: value}


def _most_trials(root: Table) -> int:
    return min(MAX_TRIALS, TRIAL_WORK // (1 + written(root)))
