"""Keep a new firm: the first record there is, made from the command line."""

from __future__ import annotations

from service.core.callers.access import Firm
from service.core.errors import FieldFault, RecordNotUsable
from service.core.records import Clock, Identifiers
from service.usecases.base.ports import OpenUnitOfWork

CURRENCY_LETTERS = 3


class FoundFirm:
    """Keep a firm, and list those that are kept."""

    def __init__(
        self, *, open_unit_of_work: OpenUnitOfWork, clock: Clock, identifiers: Identifiers
    ) -> None:
        """Take what is needed."""
        self._open = open_unit_of_work
        self._clock = clock
        self._identifiers = identifiers

    def __call__(self, *, name: str, address: str, phone: str, currency: str) -> Firm:
        """Return the new firm.

        Parameters
        ----------
        name, address, phone
            As they stand on its delivery notes; none may be blank.
        currency
            Three capital letters of ISO 4217, such as GBP.

        Raises
        ------
        RecordNotUsable
        """
        faults = [
            FieldFault(pointer=f"/{field}", detail="Write some text.")
            for field, text in (("name", name), ("address", address), ("phone", phone))
            if not text.strip()
        ]
        letters = currency.isascii() and currency.isalpha() and currency.isupper()
        if not letters or len(currency) != CURRENCY_LETTERS:
            faults.append(
                FieldFault(
                    pointer="/currency",
                    detail="Write the three capital letters of a currency, such as GBP.",
                )
            )
        if faults:
            raise RecordNotUsable(faults)
        firm = Firm(
            id=self._identifiers.next_id(),
            name=name.strip(),
            address=address.strip(),
            phone=phone.strip(),
            currency=currency,
            created_at=self._clock.now(),
        )
        with self._open() as unit:
            unit.firms.add(firm)
            unit.commit()
        return firm

    def all(self) -> list[Firm]:
        """Return every firm."""
        with self._open() as unit:
            return unit.firms.all()
