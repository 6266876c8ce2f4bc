"""The server's address: refused in one line before anybody is told of it."""

from __future__ import annotations

import socket
from pathlib import Path

import pytest

from api.cli import run


def test_a_port_that_another_server_has_is_refused_before_it_is_told(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        assert run(["serve", "--data", str(tmp_path / "shop"), "--port", str(port)]) == 2
    said = capsys.readouterr()
    assert "serving" not in said.out + said.err
    assert f"port {port} of 127.0.0.1 cannot be listened at" in said.err
    assert "choose another with --port" in said.err
    assert not (tmp_path / "shop").exists()


@pytest.mark.parametrize("host", ["203.0.113.7", "no such host"])
def test_an_address_that_is_not_this_machines_is_refused(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], host: str
) -> None:
    assert run(["serve", "--data", str(tmp_path / "shop"), "--host", host]) == 2
    said = capsys.readouterr().err
    assert f"of {host} cannot be listened at" in said
    assert "choose with --host" in said
    assert len(said.strip().splitlines()) == 1
