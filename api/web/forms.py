"""Fields of HTML forms, with a bound on every length."""

from __future__ import annotations

from typing import Annotated

from fastapi import Form, Path

from api.tags.tag_text import MOST_CHARACTERS

Line = Annotated[str, Form(max_length=200)]
Secret = Annotated[str, Form(max_length=300)]
Text = Annotated[str, Form(max_length=4000)]
Code = Annotated[str, Form(max_length=MOST_CHARACTERS)]
#: Number of a row in a path: what no database can hold is refused before it is asked.
RowNumber = Annotated[int, Path(ge=1, le=2**31 - 1)]
