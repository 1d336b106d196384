"""What a crew reads of a lawn, it reads once."""

import re
from html import unescape

from tests.crews import Crew
from tests.screens import joined


def test_a_place_that_the_answer_names_is_not_named_again_below_it():
    crew = Crew(bay=True)
    crew.patch(f"/crews/{crew.ids['crews']}", {"language": "en"})
    lawn = crew.lawn("Front")
    crew.plan_to_mow(
        lawn, at="14:00", treatment_history="unknown", height_removed={"value": 60, "unit": "mm"}
    )
    crew.read()
    lead = joined(crew.world, crew, "crew", crew_id=crew.ids["crews"])
    page = unescape(lead.get("/screens/round/").text)
    (place,) = re.findall(r"Bag it, but only for ([^:<]+):", page)
    assert f"to {place}, at" not in page
