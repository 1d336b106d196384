"""Stand-ins for the mass book: its entries, the sums beside them, and what tickets taught."""

from collections import Counter, defaultdict
from dataclasses import replace
from datetime import UTC, datetime
from itertools import product

from service.core.evidence.mixing import met_by
from service.core.mass_book import AMOUNTS, NOTHING, STILL, Amounts, BroughtOnADay, MassMoved
from service.usecases.base.ports.kept_beside import WeighedLoad
from tests.in_memory.records import Records


class MassMovements(Records):
    def of_lots(self, firm_id, lot_ids):
        return self._of(firm_id, lot_id=tuple(lot_ids))

    def brought(self, firm_id, place_ids, *, since, before, without=()):
        days = defaultdict(list)
        for entry in self._of(firm_id, to_id=tuple(place_ids)):
            if since <= entry.day < before and entry.cause_id not in without:
                days[entry.to_id, entry.day].append(entry)
        return [
            BroughtOnADay(
                place_id=place,
                day=day,
                mass_kg=sum(e.mass_high_kg * _counted(e) for e in entries),
                nitrogen_kg=sum(_nitrogen(e) for e in entries),
            )
            for (place, day), entries in sorted(days.items())
            if sum(entry.share for entry in entries) > NOTHING
        ]

    def lots_brought(self, firm_id, place_id, *, since, until):
        stand = Counter()
        for entry in self._of(firm_id, to_id=place_id):
            if since <= entry.day <= until:
                stand[entry.lot_id] += 1 if entry.corrects_id is None else -1
        return sorted(lot_id for lot_id, count in stand.items() if count > 0)

    def moved(self, firm_id, depot_id, *, since, before):
        ways = defaultdict(list)
        for e in self._of(firm_id, depot_id=depot_id):
            if since <= e.day < before:
                lot = e.lot_id if "hold_bay" in {e.from_kind, e.to_kind} else None
                way = (e.day, e.from_kind, e.from_id, e.to_kind, e.to_id, e.status.value)
                ways[way, lot].append(e)
        names = tuple(MassMoved.__dataclass_fields__)
        return [
            MassMoved(
                **dict(zip(names, way, strict=False)),
                **{name: sum(getattr(e, name) for e in some) for name in names[6:10]},
                counted_before_kg=sum(e.amounts_left.counted_kg for e in some),
                weighed_kg=sum(e.weighed_kg or 0.0 for e in some),
                estimated_of_weighed_kg=sum(
                    e.mass_likely_kg for e in some if e.weighed_kg is not None
                ),
                lot_id=lot,
            )
            for (way, lot), some in sorted(
                ways.items(), key=lambda one: (one[0][0], str(one[0][1]))
            )
            if sum(e.share for e in some) > NOTHING
        ]


def _nitrogen(entry):
    if entry.weighed_nitrogen_kg is not None:
        return entry.weighed_nitrogen_kg
    return entry.nitrogen_high_kg * _counted(entry)


def _counted(entry):
    if entry.weighed_kg is None or not entry.mass_high_kg:
        return 1.0
    return entry.weighed_kg / entry.mass_high_kg


class MassBalances:
    def __init__(self, kept):
        self._kept = kept

    def of_lots(self, firm_id, lot_ids):
        found = [b for b in self._kept.values() if b.firm_id == firm_id and b.lot_id in lot_ids]
        return sorted(found, key=lambda b: (b.lot_id, b.place_kind, b.place_id))

    def at(self, firm_id, place_kind, place_id):
        found = [
            b
            for b in self._kept.values()
            if (b.firm_id, b.place_kind) == (firm_id, place_kind) and place_id in (None, b.place_id)
        ]
        return sorted(found, key=lambda b: (b.place_id, b.lot_id))

    def totals(self, firm_id, place_kind=None):
        places = defaultdict(list)
        for b in self._kept.values():
            if b.firm_id == firm_id and place_kind in (None, b.place_kind):
                places[b.place_kind, b.place_id].append(b)
        return [
            (*place, Amounts(**{name: sum(getattr(b, name) for b in some) for name in AMOUNTS}))
            for place, some in sorted(places.items())
        ]

    def totals_anew(self, firm_id):
        return self.totals(firm_id)

    def keep_totals_anew(self, firm_id):
        """Nothing is kept: it is worked out whenever it is asked for."""

    def put(self, firm_id, lot_ids, balances, *, fresh=False):
        assert not (fresh and self.of_lots(firm_id, lot_ids))
        for balance in self.of_lots(firm_id, lot_ids):
            del self._kept[firm_id, balance.place_kind, balance.place_id, balance.lot_id]
        for b in balances:
            self._kept[firm_id, b.place_kind, b.place_id, b.lot_id] = b


class BodyStays:
    def __init__(self, kept, entries=()):
        self._kept, self._entries = kept, entries

    def told_at(self, stay):
        """Return when it was first told that a lot came into a body; long ago if it never was."""
        lay = (stay.firm_id, stay.job_id, stay.vehicle_id)
        told = [e.created_at for e in self._entries if (e.firm_id, e.lot_id, e.to_id) == lay]
        return min(told, default=datetime.min.replace(tzinfo=UTC))

    def of_lots(self, firm_id, job_ids):
        found = [s for s in self._kept.values() if s.firm_id == firm_id and s.job_id in job_ids]
        return sorted(found, key=lambda s: (s.job_id, s.since, s.vehicle_id))

    def put(self, firm_id, job_ids, stays):
        for key in [key for key in self._kept if key[0] == firm_id and key[2] in job_ids]:
            del self._kept[key]
        for s in stays:
            self._kept[s.firm_id, s.vehicle_id, s.job_id, s.since] = s

    def keep_apart(self, firm_id, job_id, at):
        for key, stay in self._kept.items():
            if (key[0], key[2]) == (firm_id, job_id):
                self._kept[key] = replace(stay, apart_until=at)

    def mixed_since(self, firm_id, job_ids):
        """Let what is in a lot spread, hour by hour, until nothing more is reached."""
        stays = [stay for stay in self._kept.values() if stay.firm_id == firm_id]
        long_ago = datetime.min.replace(tzinfo=UTC)
        since, grew = dict.fromkeys(job_ids, long_ago), True
        while grew:
            grew = False
            for mine, beside in product(stays, stays):
                if mine.job_id not in since or mine.job_id == beside.job_id:
                    continue
                begins, ends = max(mine.since, beside.since), min(mine.until, beside.until)
                at = max(begins, since[mine.job_id])
                apart = any(
                    s.apart_until and s.apart_until >= max(begins, self.told_at(of))
                    for s, of in ((mine, beside), (beside, mine))
                )
                left = mine.since != since[mine.job_id] and mine.until <= since[mine.job_id]
                if mine.vehicle_id != beside.vehicle_id or at > ends or left or apart:
                    continue
                if beside.job_id not in since or at < since[beside.job_id]:
                    since[beside.job_id], grew = at, True
        return {job_id: at for job_id, at in since.items() if job_id not in job_ids}

    def met_by(self, firm_id, job_id):
        stays = [stay for stay in self._kept.values() if stay.firm_id == firm_id]
        told = {(stay.job_id, stay.vehicle_id): self.told_at(stay) for stay in stays}
        return met_by(stays, job_id, told)

    def lots_in(self, firm_id, vehicle_id, since):
        stays = [
            s for s in self._kept.values() if (s.firm_id, s.vehicle_id) == (firm_id, vehicle_id)
        ]
        return {stay.job_id for stay in stays if stay.until >= since}

    def any_left(self, firm_id, vehicle_ids, since):
        stays = [s for s in self._kept.values() if s.firm_id == firm_id]
        ended = [s for s in stays if s.vehicle_id in vehicle_ids and since <= s.until < STILL]
        entries = [e for e in self._entries if e.firm_id == firm_id and e.from_id in vehicle_ids]
        return bool(ended or any(e.happened_at >= since for e in entries))


class SettledLoads:
    def __init__(self, kept):
        self._kept = kept

    def keep(self, firm_id, known):
        self._kept.update({(firm_id, load_id): list(told) for load_id, told in known.items()})

    def of(self, firm_id, load_ids):
        return {i: self._kept[firm_id, i] for i in load_ids if (firm_id, i) in self._kept}


class WeighedLoads:
    """Remembers nothing: every ticket is worked out again."""

    def __init__(self, loads):
        self._loads = loads

    def newest(self, firm_id, **_):
        weighed = [load for load in self._loads.all(firm_id) if load.has_accepted_ticket]
        in_turn = sorted(weighed, key=lambda load: (load.arrive_at, load.id), reverse=True)
        return [WeighedLoad(load.id, "", "", 0.0, 0.0, is_as_recorded=False) for load in in_turn]

    def standing(self, _firm_id, _load_ids):
        return set()

    def keep(self, _firm_id, loads):
        assert not loads
