"""What is not a readable template file is refused at once, whichever YAML parser is there."""

from __future__ import annotations

import os
from pathlib import Path

import pytest
import yaml

from quizgen.base.errors import FileError, InputError
from quizgen.circuit import yaml_reader
from quizgen.circuit.template import find_template, load_template, shipped_templates
from tests.circuit.sample import SAMPLE

BOMB = "a: &a [x, x]\nb: &b [*a, *a]\nc: &c [*b, *b]\n"


@pytest.fixture(params=["libyaml", "python"])
def either_parser(request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch) -> None:
    """Both parsers that PyYAML may bring: the C library, and its own where that is missing."""
    if request.param == "python":
        monkeypatch.setattr(yaml_reader, "_LOADER", yaml.SafeLoader)
    elif not yaml.__with_libyaml__:
        pytest.skip("PyYAML without libyaml here")


CONTENTS: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "the file is empty"),
    "only a comment": (b"# nothing\n", "the file is empty"),
    "one word": (b"hello", "expected fields such as 'format: 1', found 'hello'"),
    "a list": (b"- a\n- b\n", "found a list"),
    "binary": (b"GIF89a\0\1\2", "not a text file"),
    "latin-1": (b"format: 1\nname: b\xe4r", "line 2: not UTF-8"),
    "utf-16": ("format: 1".encode("utf-16"), "saved as UTF-16"),
    "control character": (b"format: \x01", "not readable as YAML"),
    "too large": (b"# " + b"x" * yaml_reader.MAX_BYTES, "larger than 256 kB"),
    "bomb": (BOMB.encode(), "anchors (&name) are not used here"),
    "deep flow": (b"a: " + b"[" * 100_000, "nest"),  # libyaml has a limit of its own
    "deep maps": (b"a: " + b"{a: " * 50_000, "nested more than 12 deep"),
    "deep block": (b"- " * 100_000, "nested more than 12 deep"),
    "deep keys": (b"? " * 100_000, "a field name must be one word"),
    "many values": (b"a: [" + b"1," * 100_000 + b"1]", "more than 10000 values"),
    "many fields": (b"".join(b"k%d: 1\n" % i for i in range(20_000)), "more than 10000 values"),
    "quote left open": (b'a: "b', "not readable as YAML"),
    "merge": (b"<<: {a: 1}\nformat: 1\n", "unknown field '<<'"),
    "directive": (b"%TAG ! tag:x,2000:\n---\na: !b c\n", "tags (!name) are not used"),
    "null byte escape": (b'format: 1\n"a\\0b": 1\n', "cannot be a field name"),
}


@pytest.mark.usefixtures("either_parser")
@pytest.mark.parametrize("name", CONTENTS)
def test_what_is_no_template_is_refused(name: str, tmp_path: Path) -> None:
    """One line that names the file and the trouble, for both parsers."""
    content, says = CONTENTS[name]
    path = tmp_path / "t.yaml"
    path.write_bytes(content)
    with pytest.raises(InputError) as caught:
        load_template(path)
    message = str(caught.value)
    assert says in message
    assert message.startswith(str(path))
    assert "\n" not in message
    assert len(message) < 400


@pytest.mark.usefixtures("either_parser")
def test_both_parsers_read_the_same(tmp_path: Path) -> None:
    """A valid file gives the same circuit, whatever the parser, line ends and byte order mark."""
    path = tmp_path / "sample.yaml"
    path.write_text(SAMPLE, encoding="utf-8")
    circuit = load_template(path).build()
    path.write_bytes(b"\xef\xbb\xbf" + SAMPLE.replace("\n", "\r\n").encode())
    assert load_template(path).build() == circuit
    assert len(circuit.parts) == 12 + 16


def test_a_missing_file_a_folder_and_a_device_are_named(tmp_path: Path) -> None:
    """Nothing that is not a file with text is opened."""
    with pytest.raises(InputError, match="no such file"):
        load_template(tmp_path / "none.yaml")
    with pytest.raises(InputError, match="this is a folder"):
        load_template(tmp_path)
    pipe = tmp_path / "pipe.yaml"
    os.mkfifo(pipe)  # reading it would wait for ever
    with pytest.raises(InputError, match="not a file with text"):
        load_template(pipe)
    with pytest.raises(InputError, match=r"not a possible file name|no such file"):
        load_template("a\0b.yaml")
    with pytest.raises(InputError, match=r"cannot be read|no such file"):
        load_template("x" * 5000 + ".yaml")


def test_the_name_in_the_file_is_the_name_of_the_file(tmp_path: Path) -> None:
    """A copied template whose name was not changed is found out."""
    path = tmp_path / "copy.yaml"
    path.write_text(SAMPLE, encoding="utf-8")
    with pytest.raises(FileError, match=r"line 2, name: expected the name of the file, copy"):
        load_template(path)


def test_a_shipped_template_is_found_by_name_and_any_by_path(tmp_path: Path) -> None:
    """`find_template` takes either, and suggests a near name."""
    assert shipped_templates()
    name = shipped_templates()[0]
    assert find_template(name).name == name
    path = tmp_path / "sample.yaml"
    path.write_text(SAMPLE, encoding="utf-8")
    assert find_template(str(path)).name == "sample"
    with pytest.raises(InputError, match=f"did you mean {name}"):
        find_template(name[:-1])
    with pytest.raises(InputError, match="no circuit template"):
        find_template("")


@pytest.mark.parametrize("name", shipped_templates())
def test_every_shipped_template_loads(name: str) -> None:
    """What travels with the program is valid at its defaults and one step away from them."""
    assert find_template(name).build().parts


@pytest.mark.parametrize("name", shipped_templates())
def test_a_shipped_file_is_right_with_other_values_too(name: str) -> None:
    """Loaded with everything tried, as `find_template` does not do with what is shipped."""
    path = find_template(name).path
    assert load_template(path) == find_template(name)
