"""The student pack: what it holds, and that a changed one is told from a genuine one."""

from __future__ import annotations

import dataclasses
import hashlib
import hmac
import json
from pathlib import Path

import pytest

from quizgen.base.errors import InputError
from quizgen.base.seeds import Seed
from quizgen.publish.from_items import workbook_of
from quizgen.publish.pack import Pack, genuine, read_pack, seal_pack, write_pack
from tests.publish.samples import HEADING, drawing, problem, workbook
from tests.publish.test_from_items import Form, item, numerical, ordering, several

SEED = Seed(b"a secret of the course").under("plan", "week 1")


def pack(seed: Seed = SEED) -> Pack:
    """A pack of one problem with a figure and readings."""
    return seal_pack(workbook(problem(1, drawing())), "4f21aa07", "s-117", seed)


def test_a_pack_comes_back_as_it_was_written(tmp_path: Path) -> None:
    """Stems, readings, options, figure and its text alternative survive the file."""
    assert read_pack(write_pack(pack(), tmp_path / "a.pack.json")) == pack()


def test_the_same_form_gives_the_same_bytes(tmp_path: Path) -> None:
    """Nothing of the moment or the machine is in the file."""
    first, second = (write_pack(pack(), tmp_path / f"{n}.json").read_bytes() for n in (1, 2))
    assert first == second


@pytest.mark.parametrize(
    ("was", "becomes"),
    [("Orchard sprayer", "Orchard Sprayer"), ("12.3 V", "12.4 V"), ("s-117", "s-118")],
)
def test_an_accidental_edit_is_found(tmp_path: Path, was: str, becomes: str) -> None:
    """One letter changed, in the text, a reading or the student's id: one line says so."""
    path = write_pack(pack(), tmp_path / "a.pack.json")
    text = path.read_text(encoding="utf-8")
    assert was in text
    path.write_text(text.replace(was, becomes, 1), encoding="utf-8")
    with pytest.raises(InputError, match=r"a\.pack\.json: was changed after it was made") as caught:
        read_pack(path)
    assert "\n" not in str(caught.value)


def test_layout_and_order_of_the_file_do_not_matter(tmp_path: Path) -> None:
    """A file that was only laid out anew, keys sorted, still reads (RFC 8259: no order)."""
    path = write_pack(pack(), tmp_path / "a.pack.json")
    path.write_text(json.dumps(json.loads(path.read_text("utf-8")), sort_keys=True), "utf-8")
    assert genuine(read_pack(path), SEED)


def test_a_mended_checksum_does_not_make_a_pack_genuine(tmp_path: Path) -> None:
    """Who edits and computes the SHA-256 anew gets past reading, not past the seal."""
    plain = dataclasses.replace(pack(), student="s-118", checksum="", seal="")
    blank = json.dumps(dataclasses.asdict(plain), separators=(",", ":"), ensure_ascii=False)
    forged = dataclasses.replace(
        plain, checksum=hashlib.sha256(blank.encode()).hexdigest(), seal=pack().seal
    )
    assert not genuine(read_pack(write_pack(forged, tmp_path / "a.json")), SEED)


def test_the_seal_depends_on_secret_plan_and_form() -> None:
    """A pack sealed under another secret, plan or form is not genuine."""
    assert genuine(pack(), SEED)
    assert not genuine(pack(), Seed(b"another secret!!").under("plan", "week 1"))
    assert not genuine(pack(), Seed(b"a secret of the course").under("plan", "week 2"))
    other = dataclasses.replace(pack(), book=dataclasses.replace(pack().book, form="B"))
    assert not genuine(other, SEED)


def test_the_seal_is_the_standard_hmac() -> None:
    """RFC 2104 computed here with the two keyed hashes written out, over the label's key."""
    seed = Seed(b"k" * 20)
    key = hmac.new(b"k" * 20, b"seal:", hashlib.sha256).digest().ljust(64, b"\0")
    inner = hashlib.sha256(bytes(b ^ 0x36 for b in key) + b"text").digest()
    outer = hashlib.sha256(bytes(b ^ 0x5C for b in key) + inner).hexdigest()
    assert seed.seal(b"text") == outer


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is not a student pack"),
        (b"{}", "is not a student pack"),
        (b"\xff\xfe", "is not a student pack"),
        (b'{"format": "x"}', "is not a student pack"),
    ],
)
def test_what_is_no_pack_is_said_in_one_line(tmp_path: Path, content: bytes, said: str) -> None:
    """Empty, cut off, binary or foreign files never end in a traceback."""
    path = tmp_path / "a.pack.json"
    path.write_bytes(content)
    with pytest.raises(InputError, match=said) as caught:
        read_pack(path)
    assert "\n" not in str(caught.value)


def test_a_missing_file_and_a_later_format_are_named(tmp_path: Path) -> None:
    """The message names the file and what is wrong with it."""
    with pytest.raises(InputError, match=r"none\.json: cannot be read"):
        read_pack(tmp_path / "none.json")
    later = write_pack(dataclasses.replace(pack(), format=9), tmp_path / "a.json")
    with pytest.raises(InputError, match="has format 9; this version reads 1"):
        read_pack(later)


def test_a_pack_holds_no_word_of_the_instructors_half(tmp_path: Path) -> None:
    """No id, claim, reason, belief, fault, order or accepted figure; no name of a field for it."""
    form = Form("A", (item(), several(), ordering(), numerical()))
    book = workbook_of(HEADING, form, lambda _: drawing())
    path = write_pack(seal_pack(book, "4f21aa07", "", SEED), tmp_path / "a.json")
    raw = path.read_text(encoding="utf-8")
    assert "hidden" not in raw
    names = set(_names(json.loads(raw)))
    hidden = "is_key claim rationale misconception origin proof fault order number solution told id"
    assert names & set(hidden.split()) == {"number"}  # which is the problem's place


def test_moving_the_key_does_not_change_a_pack(tmp_path: Path) -> None:
    """Byte for byte the same, seal included, whichever option is the key."""
    files = {
        write_pack(
            seal_pack(
                workbook_of(HEADING, Form("A", (item(key=k),)), lambda _: drawing()), "t", "", SEED
            ),
            tmp_path / f"{k}.json",
        ).read_bytes()
        for k in range(4)
    }
    assert len(files) == 1


def _names(tree: object) -> list[str]:
    if isinstance(tree, dict):
        return [*tree, *(name for value in tree.values() for name in _names(value))]
    if isinstance(tree, list):
        return [name for value in tree for name in _names(value)]
    return []
