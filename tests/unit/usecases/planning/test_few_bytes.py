"""What is left out of a vehicle's day where a bad connection carries no more."""

import json
from uuid import uuid4

import pytest

from service.documents.rendering.crew_words import crew_sentence
from service.documents.rendering.told_words import told_sentence
from service.usecases.planning.few_bytes import LARGEST_BYTES, fitting

CAUTION = (
    "Fork from outside and never climb into a closed body: it can give off poisonous gas. " * 6
)
# As long as the interface takes them.
ADDRESS, ACCESS, NAME, IN_WORDS, REASON = 500, 1000, 200, 500, 200
LANGUAGES = ("en", "es", "es-ES", "fr", "pl", "pt", "ro")


def longest_day(letter, language):
    """Return the day of a vehicle that is out, all of whose texts are as long as they may be."""
    where = {"address": letter * ADDRESS, "access": letter * ACCESS}
    ours = ["horses_behind_fence", "grazing_behind_fence", "look_at_ground"]
    theirs = {"sensitive_plants": "plants", "where_to_lay": "where"}
    cautions = [crew_sentence(code, (), language_code=language) for code in ours] + [
        crew_sentence(code, ((gap, letter * IN_WORDS),), language_code=language)
        for code, gap in theirs.items()
    ]
    warned = {
        "vehicle_may_be_overloaded": {"mass_high_kg": 1588, "payload_kg": 1100},
        "aboard_overnight": {"since": "2026-05-23", "mass_high_kg": 1588},
        "nobody_takes_what_is_aboard": {"mass_high_kg": 1588},
    }
    place = {"destination_kind": "compost_site", "destination_id": str(uuid4())}
    return {
        "vehicle_id": str(uuid4()),
        "registration": letter * 20,
        "cautions": [
            told_sentence(code, facts, language_code=language) for code, facts in warned.items()
        ],
        "out": {"outage_id": str(uuid4()), "reason": letter * REASON},
        "next_tip": {
            "load_id": str(uuid4()),
            **place,
            "name": letter * NAME,
            "show": {"registration": letter * 20, "lot_codes": ["L-7K2M9QX"] * 12, "lots": 12},
            "cautions": cautions,
            **where,
            "plan_b": {**place, "name": letter * NAME},
        },
        "stops": [
            {
                "kind": "job",
                "job_id": str(uuid4()),
                "name": letter * NAME,
                **where,
                "leave_on_lawn": None,
            }
        ]
        * 12,
        "stops_after": 3,
        "changed": [letter * 300] * 6,
    }


def sent(told):
    return json.dumps(told, ensure_ascii=False).encode()


def test_what_keeps_people_from_harm_is_never_cut():
    stop = {"kind": "pick_up", "name": "QQ00 AAA", "caution": CAUTION, "access": "Ring. " * 900}
    told = fitting(
        {"next_tip": None, "stops": [stop], "stops_after": 0, "changed": ["Moved. " * 200] * 4}
    )
    assert told["stops"][0]["caution"] == CAUTION
    assert len(told["stops"][0]["access"]) < len(stop["access"])
    assert len(sent(told)) < LARGEST_BYTES


@pytest.mark.parametrize("language", LANGUAGES)
@pytest.mark.parametrize("letter", ["x", "ł", "草", "🌱"])
def test_the_longest_texts_fit_and_our_own_cautions_stay_whole(letter, language):
    day = longest_day(letter, language)
    told = fitting(day)
    assert len(sent(told)) <= LARGEST_BYTES - 500
    assert told["cautions"] == day["cautions"]
    assert all(told["cautions"])
    assert told["next_tip"]["cautions"][:3] == day["next_tip"]["cautions"][:3]
    assert told["next_tip"]["name"][0] == letter
    assert told["stops"][0]["job_id"] == day["stops"][0]["job_id"]
    assert told["stops_after"] == 3 + 11


def test_the_way_in_goes_only_where_the_other_place_has_gone():
    day = longest_day("x", "en")
    told = fitting(day)
    assert told["next_tip"]["plan_b"] is None
    assert told["next_tip"]["access"] is not None
    assert told["next_tip"]["cautions"] == day["next_tip"]["cautions"]
