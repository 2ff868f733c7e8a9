"""Where a claim sits: two points at which a meter would show it, for every part there is."""

from __future__ import annotations

import pytest

from quizgen.circuit.template import find_template, parse_template, shipped_templates
from quizgen.diagnosis.claims import claims
from quizgen.items.places import ends, nature, side
from quizgen.solver import solve
from tests.circuit.moved import MOVED

SOUND = parse_template(MOVED).build()
CLAIMS = {claim.key: claim for claim in claims(SOUND)}


@pytest.mark.parametrize("circuit", [SOUND, find_template(shipped_templates()[0]).build()])
def test_every_claim_lies_between_two_points(circuit: object) -> None:
    """Two different nodes of the part, whatever its kind and the mode."""
    for claim in claims(circuit):  # type: ignore[arg-type]
        a, b = ends(circuit, claim)  # type: ignore[arg-type]
        nodes = circuit.by_id[claim.part].nodes  # type: ignore[attr-defined]
        assert {a, b} <= set(nodes), claim.key
        assert a != b, claim.key


@pytest.mark.parametrize(
    ("key", "points", "kind"),
    [
        ("K1:pull-open", ("start", "motor"), "open"),  # 50 to 45
        ("K1:hold-open", ("start", "chassis"), "open"),  # 50 to case
        ("K1:not-making", ("live", "motor"), "open"),
        ("K1:resistance", ("live", "motor"), "resistance"),
        ("K1:welded", ("live", "motor"), "other"),
        ("GA1:rotor-open", ("lamp", "chassis"), "open"),
        ("GA1:no-output", ("live", "chassis"), "other"),
        ("K2:open", ("on", "turn"), "open"),
        ("K2:welded", ("on", "turn"), "other"),
        ("M2:low-brush-open", ("low", "chassis"), "open"),
        ("M2:high-brush-open", ("high", "chassis"), "open"),
        ("P2:open", ("on", "level"), "open"),
        ("P2:shorted", ("on", "level"), "short"),
        ("K3:coil-open", ("live", "chassis"), "open"),
        ("K3:not-making", ("live", "wiper"), "open"),
    ],
)
def test_each_mode_lies_where_it_would_be_measured(
    key: str, points: tuple[str, str], kind: str
) -> None:
    """Terminal numbers after DIN 72552; the nodes are those of the template."""
    assert ends(SOUND, CLAIMS[key]) == points
    assert nature(CLAIMS[key]) == kind


def test_a_winding_is_neither_feed_nor_ground_side() -> None:
    """It has voltage at one end and the way back at the other, like a load."""
    point = solve(SOUND, [{"S2": "on"}])
    volts = {node: point.volts(node) or 0.0 for node in SOUND.nodes}
    for key in ("K1:pull-open", "K1:hold-open", "GA1:rotor-open", "K3:coil-open", "M2:seized"):
        assert side(SOUND, CLAIMS[key], volts) == "load", key
    assert side(SOUND, CLAIMS["K1:not-making"], volts) == "feed"
