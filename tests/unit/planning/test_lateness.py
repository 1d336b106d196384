import warnings
from types import SimpleNamespace

import numpy as np

from service.planning.search import lateness_prices as lateness


def test_where_being_late_costs_nothing_no_price_of_it_is_sought(monkeypatch):
    monkeypatch.setattr(lateness, "root_of", lambda *_, **__: 0)
    monkeypatch.setattr(lateness, "_priced", lambda *_: None)
    tables = SimpleNamespace(late=0, overtime=0)
    free = np.zeros(3, dtype=np.int64)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        found = lateness._searched(  # noqa: SLF001 - only a whole search calls it
            tables,
            SimpleNamespace(jobs=("a", "b")),
            None,
            None,
            prices=free,
            where=np.arange(3),
            enough=1,
        )
    assert found.tolist() == [0, 0, 0]
