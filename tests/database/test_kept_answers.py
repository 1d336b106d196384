"""What every store does with answers kept for a retry: one begins, finishes or takes over."""

from dataclasses import replace
from datetime import timedelta

from uuid_utils.compat import uuid7

from service.usecases.base.ports.kept_answers import KeptAnswer
from tests.database.books import NOW


def kept_answer(books, **changes):
    values = {
        "firm_id": books.firm.id,
        "key": "a key",
        "request_sha256": "ab" * 32,
        "seed_id": uuid7(),
        "started_at": NOW,
    }
    return KeptAnswer(**values | changes)


def test_an_answer_is_begun_once_and_finished_once(store):
    answer = kept_answer(store.books)
    firm_id = answer.firm_id
    with store.open_unit() as unit:
        assert unit.answers.begin(answer) is True
        assert unit.answers.begin(replace(answer, seed_id=uuid7())) is False
        assert unit.answers.get(firm_id, answer.key) == answer
        unit.answers.finish(
            firm_id, answer.key, status=201, headers={"ETag": '"1"'}, body=b"\x00\xff{}"
        )
        done = unit.answers.get(firm_id, answer.key)
        assert done == replace(answer, status=201, headers={"ETag": '"1"'}, body=b"\x00\xff{}")
        assert unit.answers.restart(done, started_at=NOW) is False


def test_an_unfinished_answer_is_taken_over_by_one_only(store):
    answer, later = kept_answer(store.books), NOW + timedelta(minutes=2)
    with store.open_unit() as unit:
        unit.answers.begin(answer)
        assert unit.answers.restart(answer, started_at=later) is True
        assert unit.answers.restart(answer, started_at=later) is False
        assert unit.answers.get(answer.firm_id, answer.key) == replace(answer, started_at=later)


def test_a_forgotten_answer_can_be_begun_again(store):
    answer = kept_answer(store.books)
    with store.open_unit() as unit:
        unit.answers.begin(answer)
        unit.answers.forget(answer.firm_id, answer.key)
        assert unit.answers.begin(replace(answer, request_sha256="cd" * 32)) is True


def test_what_is_unfinished_is_found_by_how_its_key_begins(store):
    keys = ("a_b 2", "a_b 1", "a_b 3", "axb 1", "A_B 1", "c")
    mine, theirs = store.books, store.others
    with store.open_unit() as unit:
        for key in keys:
            unit.answers.begin(kept_answer(mine, key=key))
        unit.answers.begin(kept_answer(theirs, key="a_b 4"))
        unit.answers.finish(mine.firm.id, "a_b 3", status=201, headers={}, body=b"")
        found = unit.answers.unfinished(mine.firm.id, "a_b ")
    assert [answer.key for answer in found] == ["a_b 1", "a_b 2"]
