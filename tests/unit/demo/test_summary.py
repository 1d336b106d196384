from service.demo.summary import refusals_of, rows_of, table_of


def lot(outcome, status="clean", *, likely=100.0, goes_to=(), **more):
    return {
        "outcome": outcome,
        "status": status,
        "state": "planned",
        "mass_kg": {"low": likely / 2, "likely": likely, "high": likely * 2},
        "goes_to": [{"destination_kind": kind, "share": share} for kind, share in goes_to],
        "advice": None,
        "elsewhere": {"refused_by_code": {}},
        **more,
    }


def test_a_lot_in_two_places_counts_its_mass_once():
    halves = lot("routed", goes_to=[("bed", 0.5), ("bed", 0.25), ("compost_site", 0.25)])
    rows = rows_of({"lots": [halves]})
    assert (rows["bed"].mass_kg, rows["compost_site"].mass_kg) == (75.0, 25.0)
    assert rows["bed"].reasons == {"clean": 1}


def test_what_stays_on_the_lawn_is_told_with_its_reason():
    stays = lot("leave_on_lawn", "treated", advice={"code": "label_leave_on_lawn"})
    row = rows_of({"lots": [stays, lot("left_on_lawn")]})["leave_on_lawn"]
    assert row.mass_kg == 200.0
    assert row.reasons == {"kept there by a label": 1, "to be left, as asked": 1}


def test_the_table_speaks_in_words_not_in_codes():
    (line,) = [
        line
        for line in table_of({"lots": [lot("hold", "unknown", goes_to=[("hold_bay", 1.0)])]})
        if "hold bay" in line
    ]
    assert line.endswith("treatment unknown (1)")


def test_unplaced_lots_are_not_passed_over():
    assert any(
        "unplaced" in line and "40" in line
        for line in table_of({"lots": [lot("unplaced", likely=40.0)]})
    )


def test_refusals_are_those_of_clean_lots():
    routing = {
        "lots": [
            lot("routed", elsewhere={"refused_by_code": {"no_consent": 2}}),
            lot("hold", "unknown", elsewhere={"refused_by_code": {"lot_unknown": 40}}),
        ]
    }
    assert refusals_of(routing) == {"no_consent": 2}
