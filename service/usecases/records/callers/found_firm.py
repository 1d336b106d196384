"""Keep a new firm: the first record there is, made from the command line."""

from __future__ import annotations

from service.core.callers.access import Firm
from service.core.errors import FieldFault, RecordNotUsable
from service.usecases.base.use_cases import Changing

CURRENCY_LETTERS = 3


class FoundFirm(Changing):
    """Keep a firm, and list those that are kept."""

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
            id=self.identifiers.next_id(),
            name=name.strip(),
            address=address.strip(),
            phone=phone.strip(),
            currency=currency,
            created_at=self.clock.now(),
        )
        with self.open_unit_of_work() as unit:
            unit.firms.add(firm)
            unit.commit()
        return firm

    def all(self) -> list[Firm]:
        """Return every firm."""
        with self.open_unit_of_work() as unit:
            return unit.firms.all()
