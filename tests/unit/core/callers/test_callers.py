"""What a caller may: its own, and one record more where that is granted."""

from types import SimpleNamespace
from uuid import UUID

import pytest

from service.core.callers.access import Caller, Own, Role, Scope
from service.core.errors import NotAllowed

OURS, THEIRS = UUID(int=1), UUID(int=2)
OF_CREWS = {Own.CREW: "crew_id"}


def test_a_grant_is_of_one_record_and_of_nothing_else_of_its_owner():
    crew = Caller(
        firm_id=UUID(int=9),
        key_id=UUID(int=8),
        role=Role.CREW,
        scope=Scope(own=Own.CREW, id=OURS),
    )
    job, another = (SimpleNamespace(id=UUID(int=n), crew_id=THEIRS) for n in (3, 4))
    granted = crew.granted(job.id)
    assert not crew.may_see(job, OF_CREWS, what="amend a job")
    assert granted.may_see(job, OF_CREWS, what="amend a job")
    assert not granted.may_see(another, OF_CREWS, what="amend a job")
    with pytest.raises(NotAllowed):
        granted.may_see(another, {}, what="amend an outage")
