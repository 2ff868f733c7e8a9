"""JSON on stdout: numbers in full precision and never -0.0, NaN or Infinity."""

from __future__ import annotations

import json
from collections.abc import Mapping
from math import isfinite

import click


def clean(value: object) -> object:
    """`value` as JSON can hold it: no -0.0, and None for what is no number.

    >>> clean({"a": (-0.0, float("nan"))})
    {'a': [0.0, None]}
    """
    if isinstance(value, float):
        return value + 0.0 if isfinite(value) else None  # −0.0 + 0.0 is 0.0
    if isinstance(value, Mapping):
        return {str(key): clean(item) for key, item in value.items()}
    if isinstance(value, tuple | list):
        return [clean(item) for item in value]
    return value


def print_json(value: object, indent: int | None = 2) -> None:
    """Print `value` as JSON; `indent` None puts everything on one line."""
    text = json.dumps(clean(value), indent=indent, ensure_ascii=False, allow_nan=False)
    click.echo(text)
