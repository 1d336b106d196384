"""The question before the mower starts: the label first, then the grass, then who takes it."""

import pytest

from service.api.books import clients
from service.documents.rendering.language import LANGUAGES
from service.documents.rendering.reader import Reader
from tests.crews import SMALL, Crew

OPEN = {"opens": "07:00", "closes": "17:00", "last_load": "16:30"}
HOT = {"process_temperature_c": 64, "process_days": 21, "process_turnings": 6}
BASIS = {"kind": "registered_exemption", "reference": "EX 1", "expires_on": "2027-05-01"}


class Asking(Crew):
    """A crew before a lawn that somebody may have treated."""

    def __init__(self):
        super().__init__(bay=True)

    def change(self, path, **body):
        return self.patch(path, body)

    def treat(self, *actives, on="2026-05-21", product="Lawn weed control", **fields):
        said = {"applied_on": on, "product": product, "active_ingredients": list(actives)}
        return self.treated(self.ids["lawns"], **said, **fields)["id"]

    def mown_on(self, day):
        self.mow(self.ids["lawns"], day=day, treatment_history="known", clippings="left")

    def in_america(self):
        self.change(f"/depots/{self.ids['depots']}", jurisdiction="US-OH")

    def ask(self, **query):
        words = {"depot_id": self.ids["depots"], "treatment_history": "none_recorded", **query}
        answer = self.client.get(f"/lawns/{self.ids['lawns']}/pre-mow-check", query_string=words)
        assert answer.status_code == 200, answer.text
        return answer.json


@pytest.fixture
def crew():
    return Asking()


class TestWhatALabelKeepsOnTheLawn:
    def test_the_first_mowing_after_clopyralid_stays_whatever_its_length(self, crew):
        # The wording that the products carry: the clippings of the first mowing stay on the lawn.
        crew.treat("clopyralid")
        told = crew.ask(height_removed_mm=45, treatment_history="known")
        assert (told["answer"], told["must"]) == ("leave_on_lawn", True)
        assert told["rule_class"] == "label"
        assert told["facts"]["product"] == "Lawn weed control"
        assert "hortweek-clopyralid" in told["sources"]

    def test_the_answer_names_the_product_and_until_when(self, crew):
        crew.treat("clopyralid", product="Verge clear")
        told = crew.ask(treatment_history="known")
        assert "Verge clear" in told["sentence"]
        assert told["facts"]["applied_on"] == "2026-05-21"
        assert told["facts"]["mowings_left"] == 1
        assert "1 mowing " in told["sentence"]
        assert "1 mowings" not in told["sentence"]

    def test_after_the_first_mowing_clopyralid_still_has_no_taker_and_stays_as_advice(self, crew):
        crew.treat("clopyralid", on="2026-05-10")
        crew.mown_on("2026-05-14")
        told = crew.ask(height_removed_mm=45, treatment_history="known")
        assert told["answer"] == "leave_on_lawn"

    def test_clopyralid_of_years_ago_keeps_nothing(self, crew):
        # The wording speaks of four mowings, and of no clippings after them.
        crew.treat("clopyralid", on="2024-05-01")
        for day in ("2026-05-03", "2026-05-06", "2026-05-09", "2026-05-12"):
            crew.mown_on(day)
        told = crew.ask(height_removed_mm=45, treatment_history="known")
        assert (told["answer"], told["status"]) == ("collect", "clean")

    def test_quinclorac_is_never_mulch_by_its_label_and_so_stays(self, crew):
        crew.in_america()
        crew.treat("quinclorac", on="2026-05-14")
        told = crew.ask(height_removed_mm=45, treatment_history="known")
        assert (told["answer"], told["must"]) == ("leave_on_lawn", True)
        assert told["rule_class"] == "label"

    def test_dicamba_stays_because_nothing_takes_it_yet_and_holding_does_not_age_it(self, crew):
        crew.in_america()
        crew.treat("dicamba")
        told = crew.ask(height_removed_mm=45, treatment_history="known")
        assert told["answer"] == "leave_on_lawn"
        assert "cut higher" in told["sentence"]

    def test_a_label_on_record_that_keeps_four_mowings_lets_the_fifth_go(self, crew):
        wait = {"mowings": 4, "leave_on_lawn_mowings": 4}
        crew.treat("dicamba", on="2026-05-02", label_wait=wait)
        for day in ("2026-05-05", "2026-05-08", "2026-05-11"):
            crew.mown_on(day)
        told = crew.ask(treatment_history="known")
        assert (told["must"], told["facts"]["mowings_left"]) == (True, 1)
        crew.mown_on("2026-05-14")
        assert not crew.ask(treatment_history="known")["must"]

    def test_the_plan_says_the_same_as_the_question(self, crew):
        crew.treat("clopyralid")
        job = crew.plan_to_mow(treatment_history="known")
        day = crew.client.get(f"/days/2026-05-24/routing?depot_id={crew.ids['depots']}").json
        (lot,) = [lot for lot in day["routing"]["lots"] if lot["job_id"] == job]
        asked = crew.ask(treatment_history="known")
        assert lot["outcome"] == "leave_on_lawn"
        assert (lot["advice"]["must"], lot["advice"]["code"]) == (True, asked["code"])


class TestWhenNothingSpeaksForCollecting:
    def test_short_clippings_feed_the_lawn_though_somebody_would_take_them(self, crew):
        told = crew.ask(height_removed_mm=8)
        assert told["willing"] != []
        assert (told["answer"], told["must"]) == ("leave_on_lawn", False)
        assert {"mn-grasscycling", "mu-g6959"} <= set(told["sources"])

    @pytest.mark.parametrize(
        "seen", [{"ground_wet": "true"}, {"height_removed_mm": 45}, {"collect_wanted": "true"}]
    )
    def test_wet_ground_excess_length_and_a_client_who_wants_it_speak_for_it(self, crew, seen):
        assert crew.ask(**{"height_removed_mm": 8, **seen})["answer"] == "collect"

    @pytest.mark.parametrize("seen", [{"weeds_in_seed": "true"}, {"disease_seen": "true"}])
    def test_weeds_in_seed_and_disease_do_not_stay(self, crew, seen):
        accepted = ["clean", "weedy", "diseased"]
        crew.change(f"/compost-sites/{crew.ids['compost-sites']}", accepted_statuses=accepted)
        assert crew.ask(height_removed_mm=8, **seen)["answer"].startswith("collect")

    def test_in_a_drought_they_stay_though_they_are_wanted(self, crew):
        told = crew.ask(height_removed_mm=8, drought="true", collect_wanted="true")
        assert told["answer"] == "leave_on_lawn"
        assert "drought" in told["sentence"]

    def test_it_says_which_missing_answer_would_change_it(self, crew):
        told = crew.ask(height_removed_mm=45, treatment_history="unknown")
        found = {item["field"]: item for item in told["undecided"]}
        assert found["treatment_history"]["if"] == "none_recorded"
        assert found["treatment_history"]["answer"] == "collect"

    def test_what_was_told_is_not_asked_again(self, crew):
        told = crew.ask(height_removed_mm=8, ground_wet="false", weeds_in_seed="false")
        assert not {"ground_wet", "weeds_in_seed"} & {item["field"] for item in told["undecided"]}

    def test_a_word_that_is_neither_true_nor_false_is_refused(self, crew):
        words = {"depot_id": crew.ids["depots"], "drought": "perhaps"}
        answer = crew.client.get(f"/lawns/{crew.ids['lawns']}/pre-mow-check", query_string=words)
        assert answer.status_code == 422
        assert answer.json["errors"][0]["parameter"] == "drought"


class TestWhoTakesThem:
    def test_the_nearest_are_told_first_with_distance_and_room(self, crew):
        far = {**clients.BEDS.example, "property_id": crew.ids["properties"], "legal_basis": BASIS}
        far["point"] = {"type": "Point", "coordinates": [-1.6, 51.9]}
        crew.post("/beds", {**far, "name": "Far bed"})
        told = crew.ask(height_removed_mm=45)["willing"]
        assert [taker["distance_m"] for taker in told] == sorted(t["distance_m"] for t in told)
        assert all(taker["accepted_kg"] > 0 for taker in told)
        assert len({taker["distance_m"] for taker in told}) > 1


class TestAJobThatIsPlannedToday:
    def test_its_own_height_and_its_wish_to_collect_are_used(self, crew):
        job = crew.plan_to_mow(height_removed={"value": 12, "unit": "mm"})
        told = crew.ask()
        assert told["job_id"] == job
        assert told["facts"]["height_removed_mm"] == 12
        assert told["answer"] == "collect"

    def test_its_own_load_does_not_take_the_room_it_asks_for(self, crew):
        crew.plan_to_mow()
        before = crew.ask()["willing"]
        assert crew.client.get(f"/days/2026-05-24/routing?depot_id={crew.ids['depots']}").json
        assert crew.ask()["willing"] == before

    def test_a_job_that_leaves_them_is_not_told_to_collect(self, crew):
        crew.plan_to_mow(clippings="left")
        assert crew.ask(height_removed_mm=8)["answer"] == "leave_on_lawn"


class TestWhatThePlanDoesWithIt:
    def routing(self, crew):
        answer = crew.client.get(f"/days/2026-05-24/routing?depot_id={crew.ids['depots']}")
        assert answer.status_code == 200, answer.text
        return answer.json["routing"]

    def test_without_a_plan_it_says_so(self, crew):
        crew.plan_to_mow()
        plan = crew.ask()["plan"]
        assert (plan["plan_id"], plan["tips"], plan["mixing"]) == (None, [], None)
        assert [said["code"] for said in plan["says"]] == ["no_plan_yet"]

    def test_a_lawn_that_nobody_planned_to_mow_is_no_job_that_the_plan_does_not_know_yet(
        self, crew
    ):
        crew.plan_to_mow()
        self.routing(crew)
        other = crew.client.get(
            f"/lawns/{crew.yard.another_lawn()}/pre-mow-check",
            query_string={"depot_id": crew.ids["depots"]},
        ).json["plan"]
        assert [said["code"] for said in other["says"]] == ["no_job_planned"]

    def test_a_job_that_came_after_the_plan_is_not_known_to_it_yet(self, crew):
        crew.plan_to_mow()
        self.routing(crew)
        lawn = crew.yard.another_lawn()
        crew.plan_to_mow(lawn)
        where = {"depot_id": crew.ids["depots"]}
        asked = crew.client.get(f"/lawns/{lawn}/pre-mow-check", query_string=where).json["plan"]
        assert [said["code"] for said in asked["says"]] == ["not_in_the_plan"]
        assert asked["is_current"] is False

    def test_body_place_and_hour_are_those_of_the_days_routing(self, crew):
        crew.plan_to_mow()
        (vehicle,) = self.routing(crew)["vehicles"]
        (drop,) = [stop for stop in vehicle["stops"] if stop["kind"] == "drop"]
        plan = crew.ask()["plan"]
        (tip,) = plan["tips"]
        told = ("load_id", "destination_id", "at", "keeps_until")
        assert {name: tip[name] for name in told} == {name: drop[name] for name in told}
        assert plan["registration"] == vehicle["registration"]
        (said,) = plan["says"]
        for word in (vehicle["registration"], drop["destination"], drop["at"][11:16]):
            assert word in said["sentence"]

    @pytest.mark.parametrize(
        ("seen", "status"),
        [
            ({"disease_seen": "true"}, "diseased"),
            ({"weeds_in_seed": "true"}, "weedy"),
            ({"treatment_history": "unknown"}, "unknown"),
            ({"drought": "true"}, "clean"),
        ],
        ids=str,
    )
    def test_a_plan_for_clean_grass_is_no_answer_where_other_grass_is_seen(
        self, crew, seen, status
    ):
        history = {} if "treatment_history" in seen else {"treatment_history": "none_recorded"}
        crew.plan_to_mow(**history)
        self.routing(crew)
        assert crew.ask()["plan"]["tips"] != []
        told = crew.ask(**seen)
        plan = told["plan"]
        assert (told["status"], plan["is_current"], plan["tips"]) == (status, False, [])
        (said,) = plan["says"]
        assert (said["code"], said["facts"]["status"]) == ("plan_not_for_this", status)

    def test_what_became_known_since_the_plan_is_not_sent_where_the_plan_had_it_go(self, crew):
        job = crew.plan_to_mow()
        self.routing(crew)
        crew.change(f"/jobs/{job}", disease_seen=True)
        assert crew.ask()["plan"]["tips"] == []

    def test_the_clippings_age_from_the_hour_at_which_the_plan_has_them_cut(self, crew):
        crew.plan_to_mow(at="17:00")
        self.routing(crew)
        told = crew.ask()
        assert told["plan"]["mown_at"] != "2026-05-24T17:00:00+01:00"
        assert told["keeps_until"] == told["plan"]["tips"][0]["keeps_until"]

    def test_what_stays_on_the_lawn_stays_for_the_reason_the_plan_gives(self, crew):
        crew.treat("clopyralid")
        job = crew.plan_to_mow(treatment_history="known")
        (lot,) = [lot for lot in self.routing(crew)["lots"] if lot["job_id"] == job]
        plan = crew.ask(treatment_history="known")["plan"]
        stays, reason = plan["says"]
        assert (stays["code"], plan["outcome"]) == ("stays_by_plan", "leave_on_lawn")
        assert reason["sentence"] == lot["advice"]["sentence"]

    def test_weeds_bagged_on_top_of_clean_grass_spoil_it_and_clean_grass_does_not(self, crew):
        aboard = crew.post("/jobs", crew.yard.job(area_mowed=SMALL))["lot_code"]
        crew.plan_to_mow(crew.yard.another_lawn())
        crew.plan_to_mow()
        plan = crew.ask()["plan"]
        assert plan["mixing"] is None
        assert plan["aboard"] == [{"lot_code": aboard, "status": "clean", "tipped_before": False}]
        mixing = crew.ask(weeds_in_seed="true")["plan"]["mixing"]
        assert mixing["code"] == "spoils_what_is_aboard"
        assert (mixing["facts"]["lots"], mixing["facts"]["status"]) == ([aboard], "weedy")

    def test_clean_grass_is_spoiled_by_weeds_that_lie_below_it(self, crew):
        mown = crew.yard.job(area_mowed=SMALL, weeds_in_seed=True)
        aboard = crew.post("/jobs", {**mown, "lawn_id": crew.yard.another_lawn()})["lot_code"]
        crew.plan_to_mow()
        mixing = crew.ask(weeds_in_seed="false")["plan"]["mixing"]
        assert mixing["code"] == "spoiled_by_what_is_aboard"
        assert mixing["facts"]["lots"] == [aboard]


class TestTheFirstSentence:
    """What a crew reads first says what the grass counts as, so that nothing below contradicts."""

    def plan(self, crew):
        answer = crew.client.get(f"/days/2026-05-24/routing?depot_id={crew.ids['depots']}")
        assert answer.status_code == 200, answer.text

    def test_clean_grass_is_bagged_in_a_word(self, crew):
        told = crew.ask(height_removed_mm=45)["what_to_do"]
        assert (told["code"], told["sentence"]) == ("bag_it", "Yes, bag it.")

    @pytest.mark.parametrize(
        ("seen", "words"),
        [
            ({"treatment_history": "unknown"}, "treatment unknown"),
            ({"disease_seen": "true"}, "diseased"),
        ],
    )
    def test_what_one_site_alone_takes_is_bagged_for_it_alone(self, crew, seen, words):
        site = f"/compost-sites/{crew.ids['compost-sites']}"
        kinds = ["clean", "diseased", "unknown"]
        hours = [{"weekday": day, **OPEN} for day in range(7)]
        name = crew.change(site, accepted_statuses=kinds, hours=hours, **HOT)["name"]
        told = crew.ask(height_removed_mm=45, **seen)
        assert [taker["name"] for taker in told["willing"]] == [name]
        assert told["what_to_do"]["sentence"] == f"Bag it, but only for {name}: {words}."

    @pytest.mark.parametrize("language", LANGUAGES)
    def test_unknown_grass_is_called_so_whatever_is_done_with_it(self, crew, language):
        unknown = Reader(language).status("unknown")
        for height in (8, 45):
            told = crew.client.get(
                f"/lawns/{crew.ids['lawns']}/pre-mow-check",
                query_string={"depot_id": crew.ids["depots"], "height_removed_mm": height},
                headers={"Accept-Language": language},
            ).json
            assert told["status"] == "unknown"
            assert unknown in told["what_to_do"]["sentence"], told["answer"]

    def test_grass_that_a_label_keeps_on_the_lawn_is_called_treated(self, crew):
        crew.treat("clopyralid")
        told = crew.ask(height_removed_mm=45, treatment_history="known")
        assert told["what_to_do"]["sentence"] == "No, leave it on the lawn: treated."

    def test_clean_grass_that_the_plan_tips_with_unknown_has_the_answer_of_both(self, crew):
        other = crew.yard.job(
            area_mowed=SMALL,
            lawn_id=crew.yard.another_lawn(),
            treatment_history="unknown",
            cut_at="2026-05-24T10:00:00+01:00",
        )
        unknown = crew.post("/jobs", other)["lot_code"]
        crew.plan_to_mow(treatment_history="none_recorded")
        self.plan(crew)
        told = crew.ask()
        (tip,) = told["plan"]["tips"]
        assert tip["name"] == "Bay 1"
        assert (told["answer"], told["code"]) == ("collect_to_hold", "mixed_by_plan")
        assert told["facts"]["lots"] == [unknown]
        assert told["what_to_do"]["sentence"] == "Bag it, but only for Bay 1: treatment unknown."
        assert told["without_plan"]["answer"] == "collect"

    def test_clean_grass_is_kept_apart_from_what_would_spoil_it(self, crew):
        mown = crew.yard.job(area_mowed=SMALL, weeds_in_seed=True)
        crew.post("/jobs", {**mown, "lawn_id": crew.yard.another_lawn()})
        crew.plan_to_mow()
        told = crew.ask(weeds_in_seed="false")
        assert told["plan"]["mixing"]["code"] == "spoiled_by_what_is_aboard"
        assert told["what_to_do"]["code"] == "bag_apart"
        assert "weeds in seed" in told["what_to_do"]["sentence"]
