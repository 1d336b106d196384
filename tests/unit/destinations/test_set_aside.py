from types import SimpleNamespace
from uuid import UUID

from service.core.places import DestinationKind
from service.core.plans import RuleClass, Verdict
from service.destinations.set_aside import insisted_on_all

HEAP_KG = 80.0
PLACE = UUID(int=1)


def verdict(rule_class, accepted_kg):
    return Verdict(
        destination_kind=DestinationKind.BED,
        destination_id=PLACE,
        accepted_kg=accepted_kg,
        code=rule_class.value,
        sentence=rule_class.value,
        rule_class=rule_class,
    )


def told(*said):
    """Return what binds a heap, of whose lots a place says these, whatever reason somebody has."""
    lots = [SimpleNamespace(offered_to=lambda _, one=one: one) for one in said]
    place = SimpleNamespace(property_id=None, insisted=lambda one: one)
    found = insisted_on_all(lots, place, mass_kg=HEAP_KG)
    return None if found is None else found.rule_class


def test_the_law_is_told_before_a_client_who_takes_still_less():
    client, law = verdict(RuleClass.CLIENT, 0.0), verdict(RuleClass.LAW, 20.0)
    assert told(client, law) is told(law, client) is RuleClass.LAW


def test_a_law_that_has_room_for_the_heap_is_not_in_its_way():
    client, law = verdict(RuleClass.CLIENT, 0.0), verdict(RuleClass.LAW, HEAP_KG)
    assert told(law, client) is RuleClass.CLIENT
    assert told(law) is told(None) is None
