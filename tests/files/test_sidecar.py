"""The JSON sidecar's bytes (RFC 8259, from memory)."""

from __future__ import annotations

import json
import math
import os
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from vent_family.files.json import write_json


def test_bytes(tmp_path: Path) -> None:
    path = tmp_path / "a.json"
    write_json(path, {"b": [1, 2.5, True, None], "a": {"ü": "Größe", "n": np.float64(0.1) + 0.2}})
    expected = (
        '{\n  "a": {\n    "n": 0.3,\n    "ü": "Größe"\n  },\n'
        '  "b": [\n    1,\n    2.5,\n    true,\n    null\n  ]\n}\n'
    )
    assert path.read_bytes() == expected.encode("utf-8")


def test_order_of_keys_does_not_matter(tmp_path: Path) -> None:
    write_json(tmp_path / "a", {"x": 1, "y": {"p": 1, "q": 2}})
    write_json(tmp_path / "b", {"y": {"q": 2, "p": 1}, "x": 1})
    assert (tmp_path / "a").read_bytes() == (tmp_path / "b").read_bytes()


def test_numpy_and_tuples(tmp_path: Path) -> None:
    data = {"a": np.array([[1.0, -0.0]]), "b": (np.int32(3), np.bool_(True)), "c": np.float32(0.5)}
    write_json(tmp_path / "a", data)
    text = (tmp_path / "a").read_text()
    assert json.loads(text) == {"a": [[1.0, 0.0]], "b": [3, True], "c": 0.5}
    assert "-0" not in text


@pytest.mark.parametrize(
    ("data", "error", "place"),
    [
        ({"a": {"b": [1.0, math.nan]}}, ValueError, r"\$\.a\.b\[1\]"),
        ({"a": math.inf}, ValueError, r"\$\.a"),
        ({"a": -math.inf}, ValueError, r"\$\.a"),
        ({"a": np.array([np.nan])}, ValueError, r"\$\.a\[0\]"),
        ({"a": {1: 2}}, TypeError, r"\$\.a"),
        ({"a": {1, 2}}, TypeError, r"\$\.a"),
        ({"a": "\ud800"}, ValueError, r"\$\.a"),
        ({"\ud800": 1}, ValueError, r"\$"),
    ],
)
def test_refused_before_anything_is_written(
    tmp_path: Path, data: dict[str, Any], error: type[Exception], place: str
) -> None:
    path = tmp_path / "a.json"
    path.write_text("old")
    with pytest.raises(error, match=place):
        write_json(path, data)
    assert path.read_text() == "old"
    assert os.listdir(tmp_path) == ["a.json"]


_LEAVES = (
    st.none()
    | st.booleans()
    | st.integers()
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.text()
)
_DATA = st.dictionaries(
    st.text(),
    st.recursive(_LEAVES, lambda t: st.lists(t, max_size=3) | st.dictionaries(st.text(), t)),
    max_size=4,
)


@given(_DATA)
def test_any_plain_data_comes_back(
    tmp_path_factory: pytest.TempPathFactory, data: dict[str, Any]
) -> None:
    path = tmp_path_factory.mktemp("json") / "a.json"
    write_json(path, data)
    assert _near(json.loads(path.read_bytes().decode("utf-8")), data)


def _near(a: Any, b: Any) -> bool:
    if isinstance(b, float):
        return isinstance(a, float) and math.isclose(a, b, rel_tol=1e-11)
    if isinstance(b, dict):
        return a.keys() == b.keys() and all(_near(a[key], b[key]) for key in b)
    if isinstance(b, list):
        return len(a) == len(b) and all(map(_near, a, b))
    return type(a) is type(b) and a == b
