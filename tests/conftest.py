"""What every test may use: databases built by the migrations, on both engines."""

from __future__ import annotations

import datetime as dt
import os
import shutil
import uuid
from collections.abc import Iterator
from pathlib import Path

import pytest
import sqlalchemy as sa
from hypothesis import settings
from sqlalchemy.pool import NullPool

from fleetcare import clock
from fleetcare.store import migrate
from tests import served

settings.register_profile("ci", deadline=None, derandomize=True, print_blob=True)
settings.load_profile("ci")

ENGINES = ("sqlite", "postgresql")
# The day a ready book takes the rules in: what happened before it asks for nothing.
LONG_AGO = dt.datetime(1990, 1, 1, 9, tzinfo=dt.UTC)
ADOPTED = dt.datetime(2026, 8, 1, 9, tzinfo=dt.UTC)


@pytest.fixture(autouse=True)
def _clean_environment(monkeypatch: pytest.MonkeyPatch) -> None:
    """No setting of the person who runs the tests reaches them."""
    for name in ("FLEETCARE_DB", "FLEETCARE_AS", "FLEETCARE_TODAY"):
        monkeypatch.delenv(name, raising=False)


@pytest.fixture(scope="session")
def sqlite_template(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The bytes of a freshly migrated SQLite file."""
    place = tmp_path_factory.mktemp("template") / "empty.db"
    migrate.upgrade(str(place))
    with sa.create_engine(f"sqlite:///{place}", poolclass=NullPool).connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    return place.read_bytes()


@pytest.fixture(scope="session")
def postgres() -> Iterator[str]:
    """A PostgreSQL server of our own, and in it a migrated database to copy from.

    FLEETCARE_TEST_POSTGRES names another one, which sorts as its own databases do.
    """
    named = os.environ.get("FLEETCARE_TEST_POSTGRES")
    if named:
        served.told(named, 'CREATE DATABASE template_fleet TEMPLATE template0 ENCODING "UTF8"')
        migrate.upgrade(served.named(named, "template_fleet"))
        yield named
        return
    with served.server() as uri:
        served.told(
            uri, 'CREATE DATABASE template_fleet TEMPLATE template0 LOCALE "C" ENCODING "UTF8"'
        )
        migrate.upgrade(served.named(uri, "template_fleet"))
        yield uri


@pytest.fixture(params=ENGINES)
def place(request: pytest.FixtureRequest, tmp_path: Path) -> Iterator[str]:
    """The address of an empty book, once on each engine."""
    if request.param == "sqlite":
        file = tmp_path / "book.db"
        file.write_bytes(request.getfixturevalue("sqlite_template"))
        yield str(file)
        return
    uri = request.getfixturevalue("postgres")
    name = f"t{uuid.uuid4().hex}"
    served.told(uri, f'CREATE DATABASE "{name}" TEMPLATE template_fleet')
    yield served.named(uri, name)
    served.told(uri, f'DROP DATABASE "{name}" WITH (FORCE)')


@pytest.fixture
def empty_place(tmp_path: Path, sqlite_template: bytes) -> str:
    """The path of an empty SQLite book."""
    file = tmp_path / "book.db"
    file.write_bytes(sqlite_template)
    return str(file)


@pytest.fixture(scope="session")
def ready_template(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The bytes of an SQLite book with the program's rules adopted."""
    return _book_of(tmp_path_factory, ADOPTED)


@pytest.fixture(scope="session")
def early_template(tmp_path_factory: pytest.TempPathFactory) -> bytes:
    """The same, of a book that took the rules in long before anything it tells of."""
    return _book_of(tmp_path_factory, LONG_AGO)


def _book_of(tmp_path_factory: pytest.TempPathFactory, moment: dt.datetime) -> bytes:
    from fleetcare.desk import keep

    place = tmp_path_factory.mktemp("ready") / "ready.db"
    with clock.standing_at(moment):
        keep.init(str(place), "Test")
    with sa.create_engine(f"sqlite:///{place}", poolclass=NullPool).connect() as connection:
        connection.exec_driver_sql("PRAGMA wal_checkpoint(TRUNCATE)")
    return place.read_bytes()


@pytest.fixture
def ready(tmp_path: Path, ready_template: bytes) -> str:
    """The path of an SQLite book ready to be written to."""
    file = tmp_path / "fleet.db"
    file.write_bytes(ready_template)
    return str(file)


@pytest.fixture
def early(tmp_path: Path, early_template: bytes) -> str:
    """The path of a book that took the rules in on 1 January 1990."""
    file = tmp_path / "fleet.db"
    file.write_bytes(early_template)
    return str(file)


@pytest.fixture(scope="session")
def good_file(tmp_path_factory: pytest.TempPathFactory, ready_template: bytes) -> Path:
    """A book with one van in good order on 1 August 2026."""
    from tests.typed import typed_all
    from tests.vans import GOOD

    file = tmp_path_factory.mktemp("good") / "good.db"
    file.write_bytes(ready_template)
    typed_all(str(file), GOOD, dt.date(2026, 8, 1))
    return file


@pytest.fixture
def good(good_file: Path, tmp_path: Path) -> str:
    """A copy of that book to write in."""
    return str(shutil.copy(good_file, tmp_path / "fleet.db"))


@pytest.fixture(scope="session")
def sample_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The sample fleet, built once."""
    from fleetcare.cli.demo import run as run_typed
    from fleetcare.desk import sample

    place = tmp_path_factory.mktemp("sample") / "fleet.db"
    sample.build(place, run_typed)
    return place


@pytest.fixture
def sample_book(sample_file: Path, tmp_path: Path) -> str:
    """A copy of the sample fleet to write in."""
    return str(shutil.copy(sample_file, tmp_path / "sample.db"))
