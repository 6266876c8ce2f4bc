"""``witnessmark serve --tls`` as a phone sees it that installed the shop's certificate."""

from __future__ import annotations

import json
import re
import signal
import ssl
import subprocess
import sys
from collections.abc import Iterator
from hashlib import sha256
from pathlib import Path

import httpx
import pytest
from websockets.sync.client import connect

from tests.api.live.bench_sound import script_file
from tests.browser.conftest import SECRET, _free_port, _wait_for

ROOT = Path(__file__).parents[3]


class Phone:
    """A client that trusts the shop's authority and nothing else."""

    def __init__(self, address: str, pem: Path) -> None:
        self.trust = ssl.create_default_context(cafile=str(pem))
        self.http = httpx.Client(base_url=address, verify=self.trust, headers={"accept": "text/html"})

    def post(self, path: str, **fields: object) -> httpx.Response:
        shown = self.http.get("/").text if self.http.cookies else ""
        token = re.search(r'name="form_token" value="([^"]+)"', shown)
        return self.http.post(path, data={**fields, "form_token": token[1] if token else ""})


@pytest.fixture
def served(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[tuple[str, dict[str, str], Path]]:
    monkeypatch.setenv("WITNESSMARK_ENGINE", "scripted")
    monkeypatch.setenv("WITNESSMARK_MODEL", str(script_file(tmp_path)))
    port, folder = _free_port(), tmp_path / "shop"
    process = subprocess.Popen(
        [sys.executable, "-m", "api", "serve", "--data", str(folder), "--port", str(port), "--tls", "--json"],
        stdout=subprocess.PIPE, text=True, cwd=ROOT,
    )  # fmt: skip
    assert process.stdout is not None
    told: dict[str, str] = {}
    try:
        for _ in range(3):
            told |= json.loads(process.stdout.readline())
        _wait_for(port)
        yield f"https://localhost:{port}", told, folder
        process.send_signal(signal.SIGINT)
        process.wait(90)  # a busy machine takes long to end, too
    finally:
        process.kill()
        process.wait()
        process.stdout.close()


@pytest.mark.long
def test_a_phone_that_installed_the_certificate_works_at_the_bench(
    served: tuple[str, dict[str, str], Path], tmp_path: Path
) -> None:
    address, told, _ = served
    # Before it is installed a browser warns; what it shows can be fetched all the same, and compared.
    with pytest.raises(httpx.ConnectError):
        httpx.get(f"{address}/sign-in", verify=ssl.create_default_context())
    careless = httpx.Client(verify=False, base_url=address, headers={"accept": "text/html"})
    shown = careless.get("/install-certificate").text
    fingerprint = told["authority"].rpartition("SHA-256 is ")[2]
    assert fingerprint in shown
    der = careless.get("/authority.crt")
    assert der.headers["content-type"] == "application/x-x509-ca-cert"
    assert sha256(der.content).hexdigest().upper() == fingerprint.replace(" ", "")
    (tmp_path / "ca.pem").write_bytes(careless.get("/authority.pem").content)
    careless.close()
    phone = Phone(address, tmp_path / "ca.pem")
    link = told["set_up"].partition("open ")[2]
    assert link.startswith(f"{address}/set-up/")
    made = phone.http.post(link, data={"name": "keeper", "shown_name": "Ines Keeper", "secret": SECRET})
    assert made.status_code == 303
    cookie = made.headers["set-cookie"].lower()
    assert "secure" in cookie
    assert "httponly" in cookie
    phone.post("/accounts", name="fitter", shown_name="Odd Fitter", roles="technician", secret=SECRET)
    phone.post("/sign-out")
    phone.http.cookies.clear()
    phone.http.post("/sign-in", data={"name": "fitter", "secret": SECRET})
    notice = re.search(r'name="notice" value="([^"]+)"', phone.http.get("/notice").text)
    assert notice
    phone.post("/notice", notice=notice[1], answer="agree")
    job = phone.post("/bench/jobs", work_order="1", sheet="wash-water-end-suction").headers["location"]
    with connect(
        f"wss://{address.partition('://')[2]}{job}/listen",
        ssl=phone.trust,
        origin=address,  # type: ignore[arg-type]
        additional_headers={"cookie": f"witnessmark={phone.http.cookies['witnessmark']}"},
    ) as socket:
        socket.send(json.dumps({"type": "start", "settings": {}}))
        while (message := json.loads(socket.recv(60)))["type"] != "ready":
            assert message["type"] != "refused", message
    phone.http.close()


@pytest.mark.long
def test_the_authority_outlives_the_server(served: tuple[str, dict[str, str], Path]) -> None:
    _, told, folder = served
    from datetime import UTC, datetime

    from api.tls.watch import TlsWatch

    again = TlsWatch(folder, "127.0.0.1", lambda: datetime.now(UTC))
    assert again.authority.fingerprint in told["authority"]


def test_without_tls_there_is_no_certificate_to_install(stranger_page: httpx.Response) -> None:
    assert stranger_page.status_code == 404
    assert "start it with --tls" in stranger_page.text


@pytest.fixture
def stranger_page(tmp_path: Path) -> Iterator[httpx.Response]:
    from fastapi.testclient import TestClient

    from api.web.app import make_app
    from api.web.serving import open_shop
    from shared.settings import Settings

    shop = open_shop(Settings(), tmp_path)
    client = TestClient(make_app(shop), base_url="http://testserver", headers={"accept": "text/html"})
    yield client.get("/install-certificate")  # type: ignore[misc]
    shop.database.close()
