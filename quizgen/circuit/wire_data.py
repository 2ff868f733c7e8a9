"""Wires: conductor resistance by cross-section, and colour codes.

Resistance: highest conductor resistance at 20 °C of stranded bare copper,
ISO 6722-1:2011 (carried over to ISO 19642-3); figures from memory of that table.
Colours: IEC 60757, in the order of its table; two colours are joined in that order.
"""

from __future__ import annotations

MILLIOHM_PER_METRE: dict[float, float] = {
    0.13: 136.0, 0.22: 84.4, 0.35: 54.4, 0.5: 37.1, 0.75: 24.7, 1.0: 18.5, 1.25: 14.9,
    1.5: 12.7, 2.0: 9.42, 2.5: 7.6, 3.0: 6.15, 4.0: 4.71, 5.0: 3.94, 6.0: 3.14, 8.0: 2.38,
    10.0: 1.82, 12.0: 1.52, 16.0: 1.16, 20.0: 0.955, 25.0: 0.743, 35.0: 0.527, 50.0: 0.368,
}  # fmt: skip

COLOURS: dict[str, str] = {
    "BK": "black", "BN": "brown", "RD": "red", "OG": "orange", "YE": "yellow", "GN": "green",
    "BU": "blue", "VT": "violet", "GY": "grey", "WH": "white", "PK": "pink", "TQ": "turquoise",
}  # fmt: skip


def wire_ohm(mm2: float, metres: float) -> float:
    """Resistance in ohm of `metres` of stranded copper of a standard cross-section.

    Raises KeyError for a cross-section the standard does not list.

    >>> round(wire_ohm(1.5, 2.0), 4)
    0.0254
    """
    return MILLIOHM_PER_METRE[mm2] * metres / 1000.0


def colour_parts(code: str) -> tuple[str, ...]:
    """The one or two colour codes of a wire, base first.

    Raises ValueError when `code` is not written as IEC 60757 says.

    >>> colour_parts("RDBU")
    ('RD', 'BU')
    """
    parts = tuple(code[i : i + 2] for i in range(0, len(code), 2))
    order = list(COLOURS)
    if not 1 <= len(parts) <= 2 or any(p not in COLOURS for p in parts):
        raise ValueError(f"colour {code!r} is not one or two of {' '.join(order)}")
    if set(parts) == {"GN", "YE"}:
        raise ValueError(f"colour {code!r} is reserved for protective conductors; take another")
    if len(parts) == 2 and order.index(parts[0]) >= order.index(parts[1]):
        raise ValueError(
            f"colour {code!r}: IEC 60757 joins two codes in table order, "
            f"{''.join(sorted(set(parts), key=order.index))}"
        )
    return parts


def colour_name(code: str) -> str:
    """A colour code in words.

    >>> colour_name("RDBU")
    'red/blue'
    """
    return "/".join(COLOURS[p] for p in colour_parts(code))
