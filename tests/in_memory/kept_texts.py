"""Stand-in for the texts as they stand in rows: here they are fields of records."""

from dataclasses import asdict, replace

from service.storage import json_text


class KeptTexts:
    def __init__(self, draft):
        self._draft = draft

    def _rows(self, firm_id, wanted):
        for key, one in self._draft.get(wanted.table, {}).items():
            if getattr(one, "firm_id", None) != firm_id:
                continue
            if wanted.words:
                said = json_text.written(_plain(one))
                if any(word in said for word in wanted.words):
                    yield key, one
            elif getattr(one, wanted.column) in set(wanted.ids):
                yield key, one

    def read(self, firm_id, wanted, columns):
        return [_row(one, columns) for _, one in self._rows(firm_id, wanted)]

    def rewrite(self, firm_id, wanted, columns, rewritten):
        for key, one in list(self._rows(firm_id, wanted)):
            row = _row(one, columns)
            changed = {n: value for n, value in rewritten(row).items() if value != row[n]}
            if changed:
                more = {"version": one.version + 1} if hasattr(one, "version") else {}
                self._draft[wanted.table][key] = replace(one, **changed, **more)

    def forget_superseded_plans(self, firm_id):
        plans = self._draft["day_plans"]
        newest = {}
        for plan in plans.values():
            day = plan.firm_id, plan.depot_id, plan.day
            newest[day] = max(newest.get(day, 0), plan.sequence)
        for key, plan in list(plans.items()):
            is_over = plan.sequence < newest[plan.firm_id, plan.depot_id, plan.day]
            if plan.firm_id == firm_id and is_over:
                plans[key] = replace(plan, routing={}, record_versions=None)


def _row(one, columns):
    return {name: getattr(one, name) for name in columns if hasattr(one, name)}


def _plain(one):
    return {
        name: value.decode(errors="replace") if isinstance(value, bytes) else value
        for name, value in asdict(one).items()
    }
