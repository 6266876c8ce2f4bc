"""One archive for all tests of a module: an invented past, and a rebuild of which every word is known."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from api.archive.filing import Filing, file_record
from api.invented.filed_past import file_past
from api.invented.past import Past
from api.store.database import Database, database_url
from api.store.migrating import migrate
from extract.record_builder import RecordBuilder
from shared.job_sheet import load_job_sheet
from shared.photo import Photo
from shared.record import Job, Stage
from shared.speech import Utterance

SHEET = load_job_sheet("wash-water-end-suction")
KNOWN = "file:" + "f" * 64
SAID = (
    "the carbon is heat checked",
    "front clearance vane one eighteen thou",
    "vane two thirty thou",
    "the impeller wheel nut's worn out, not scored",
    "the stationary seat is not scored",
    "casing gasket renewed",
)


@pytest.fixture(scope="module", params=["sqlite", "postgresql"])
def archive(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Database]:
    """An archive, of each kind of database that there is."""
    if request.param == "sqlite":
        opened = Database(database_url(tmp_path_factory.mktemp("archive"), None))
        migrate(opened)
    else:
        shape: str = request.getfixturevalue("postgresql_shape")
        opened = Database(request.getfixturevalue("postgresql").make("archive_searched", like=shape))
    file_past(opened, Past(30, 5))
    file_known(opened)
    yield opened
    opened.close()
    if request.param == "postgresql":
        request.getfixturevalue("postgresql").drop("archive_searched")


#: Taken by a press, without a word: of what, stage, name, which one it was taken again for.
PRESSED: tuple[tuple[str | None, Stage, str, str | None], ...] = (
    ("rotating_face", "as_found", "carbon-blurred", None),
    ("rotating_face", "as_found", "carbon", "carbon-blurred"),
    ("stationary_seat", "as_found", "seat", None),
    ("casing", "as_left", "casing", None),
    (None, "either", "unnamed", None),
)


def file_known(database: Database) -> None:
    """File a rebuild that was said in these words, read by the real rules."""
    job = Job(
        work_order="WO 7", pump_tag="P-900", technician="Rae Olsen", started="2026-11-04T08:00:00+00:00"
    )
    builder = RecordBuilder(SHEET, job)
    talk = {}
    for number, words in enumerate(SAID):
        said = Utterance(words, 10.0 * number, 10.0 * number + 3, recording="001")
        builder.hear(said)
        talk[number] = said
    for second, (of, stage, name, replaces) in enumerate(PRESSED, 11):
        builder.see(
            Photo(
                of=of, stage=stage, picture=f"pictures/{name}.jpg", assigned_by="bench", recording="001",
                time_s=float(second) if of else 3600.0, replaces=replaces and f"pictures/{replaces}.jpg",
            )
        )  # fmt: skip
    with database.writing() as session:
        file_record(session, builder.record(), source=KNOWN, sheet=SHEET, filing=Filing(talk=talk))
