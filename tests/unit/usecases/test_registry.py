"""A record is added to one list; storage and the stand-ins of tests follow."""

from service.core.crews import VehicleOutage
from service.core.jobs import Job
from service.core.loads import Load
from service.storage.unit_of_work import ASKED_MORE, RECORDS
from service.usecases.base import registry
from service.usecases.base.destination_kinds import KINDS
from service.usecases.base.ports.unit_of_work import Repository, UnitOfWork
from tests.fakes import MemoryStore


def test_every_repository_of_the_unit_of_work_keeps_its_own_type_of_record():
    kept = registry.kept_records()
    assert kept["jobs"] is Job
    assert kept["vehicle_outages"] is VehicleOutage
    assert {kind.record for kind in KINDS.values()} <= set(kept.values())
    assert len(set(kept.values())) == len(kept)


def test_tables_and_memory_keep_the_same_records():
    kept = registry.kept_records()
    assert {name: mapping.record_type for name, mapping in RECORDS.items()} == kept
    with MemoryStore()() as unit:
        assert all(unit.repository(name).count(None) == 0 for name in kept)


def test_what_is_asked_more_of_is_kept():
    assert set(ASKED_MORE) <= set(registry.kept_records())


def test_a_record_is_known_by_its_line_in_the_unit_of_work_alone(monkeypatch):
    class UnitWithOneMore(UnitOfWork):
        second_loads: Repository[Load]

    monkeypatch.setattr(registry, "UnitOfWork", UnitWithOneMore)
    assert registry.kept_records()["second_loads"] is Load


def test_a_record_is_called_in_sentences_as_in_code():
    assert registry.words_of(VehicleOutage) == "vehicle outage"
    assert registry.words_of(Job) == "job"
    assert all(registry.words_of(kind.record) == kind.one for kind in KINDS.values())
