import warnings
from types import SimpleNamespace

import numpy as np

from service.planning.search import lateness_prices as lateness


def test_where_being_late_costs_nothing_no_price_of_it_is_sought(monkeypatch):
    monkeypatch.setattr(lateness, "root_of", lambda *_, **__: 0)
    monkeypatch.setattr(lateness, "_priced", lambda *_: None)
    tables = SimpleNamespace(late=0, overtime=0)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = lateness._searched(  # noqa: SLF001 - only a whole search calls it
            tables,
            SimpleNamespace(jobs=("a", "b")),
            None,
            None,
            np.arange(3),
        )
    assert found.tolist() == [0, 0, 0]
