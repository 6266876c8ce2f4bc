"""Who may do what: every role has the rights that its work needs and no more."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Literal, get_args

Role = Literal["technician", "reviewer", "trainer", "stores", "admin"]
Right = Literal["work", "read_records", "review", "sign", "witness", "learn", "reorder", "administer"]

ROLES: tuple[Role, ...] = get_args(Role)

#: An admin keeps accounts and settings; he does not sign: whoever may make reviewers must not be one unseen.
RIGHTS: dict[Role, frozenset[Right]] = {
    "technician": frozenset({"work", "read_records"}),
    "reviewer": frozenset({"read_records", "review", "sign", "witness"}),
    "trainer": frozenset({"read_records", "learn"}),
    "stores": frozenset({"reorder"}),
    "admin": frozenset({"administer"}),
}


def roles_with(right: Right) -> tuple[Role, ...]:
    """Return the roles that have a right."""
    return tuple(role for role in ROLES if right in RIGHTS[role])


def rights_of(roles: Iterable[str]) -> frozenset[Right]:
    """Return the rights of all roles together."""
    found: frozenset[Right] = frozenset()
    for role in ROLES:
        if role in set(roles):
            found |= RIGHTS[role]
    return found
