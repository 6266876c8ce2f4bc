"""Fields of HTML forms, with a bound on every length."""

from __future__ import annotations

from typing import Annotated

from fastapi import Form

from api.tags.tag_text import MOST_CHARACTERS

Line = Annotated[str, Form(max_length=200)]
Secret = Annotated[str, Form(max_length=300)]
Text = Annotated[str, Form(max_length=4000)]
Code = Annotated[str, Form(max_length=MOST_CHARACTERS)]
