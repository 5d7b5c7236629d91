"""What holds for every answer, whatever the question."""

from __future__ import annotations

import json

import pandas as pd
from jsonschema import Draft202012Validator

from pollinet.answers.base import Answer


def told_whole(answer: Answer) -> pd.DataFrame:
    """Assert that an answer reads back the same, keeps its schema and has its rows; its frame."""
    told = answer.to_json()
    assert type(answer).from_json(told) == answer
    assert list(Draft202012Validator(answer.schema()).iter_errors(json.loads(told))) == []
    assert len(repr(answer)) < 400 and "\n" not in repr(answer)
    frame = answer.to_frame()
    assert isinstance(frame, pd.DataFrame)
    assert list(frame.columns) == answer.columns()
    assert len(frame) == len(answer.rows())
    assert "<table" in answer._repr_html_()
    return frame
