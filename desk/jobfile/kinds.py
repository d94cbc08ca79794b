"""Kinds of values in a job, with their bounds as `json_reader` keeps them: words of the shapes that schemas are made
from."""
from __future__ import annotations

from typing import Annotated, Literal

from desk.jobfile.json_reader import LARGEST, LONGEST_NAME

Number = Annotated[float, ("minimum", -LARGEST), ("maximum", LARGEST)]
Length = Annotated[float, ("minimum", 0), ("maximum", LARGEST)]
LengthFrom1 = Annotated[float, ("minimum", 1), ("maximum", LARGEST)]
Spread = Annotated[float, ("exclusiveMinimum", 0), ("maximum", LARGEST)]
Whole = Annotated[int, ("minimum", 1), ("maximum", LARGEST)]
WholeFrom0 = Annotated[int, ("minimum", 0), ("maximum", LARGEST)]
Name = Annotated[str, ("minLength", 1), ("maxLength", LONGEST_NAME), ("pattern", r"^\S([^\x00-\x1f\x7f]*\S)?$")]
Pair = Annotated[list[Name], ("minItems", 2), ("maxItems", 2), ("uniqueItems", True)]
Place = Annotated[list[Number], ("minItems", 2), ("maxItems", 2)]
File = Annotated[str, ("minLength", 1)]
Auto = Literal["auto"]
