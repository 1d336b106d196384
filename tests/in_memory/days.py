"""Stand-ins for the repositories of days and their plans."""

from dataclasses import replace

from tests.in_memory.records import Records


class WorkingDays(Records):
    def of(self, firm_id, depot_id, day):
        return next(iter(self._of(firm_id, depot_id=depot_id, day=day)), None)

    def count_event(self, working_day):
        kept = self.of(working_day.firm_id, working_day.depot_id, working_day.day)
        if kept is None:
            self.add(replace(working_day, revision=1))
        else:
            self._kept[kept.firm_id, kept.id] = replace(kept, revision=kept.revision + 1)

    def bump(self, firm_id, *, depot_id, from_day, to_day):
        for day in self._of(firm_id):
            if (
                (depot_id is None or day.depot_id == depot_id)
                and from_day <= day.day
                and (to_day is None or day.day <= to_day)
            ):
                self._kept[firm_id, day.id] = replace(day, revision=day.revision + 1)

    def mark_planned(self, working_day, *, revision, plan_id):
        kept = self.get(working_day.firm_id, working_day.id)
        if kept.revision != revision:
            return False
        self._kept[kept.firm_id, kept.id] = replace(
            kept, planned_revision=revision, plan_id=plan_id
        )
        return True


class DayPlans(Records):
    def latest(self, firm_id, depot_id, day):
        found = self._of(firm_id, depot_id=depot_id, day=day)
        return max(found, key=lambda plan: plan.sequence, default=None)

    def fold(self, plan, *, beside):
        """Memory is no dearer whole."""


class Searches:
    """Nobody searches behind in memory: who asks waits."""

    def get(self, *_):
        return None


class PlanningTurns:
    """Nobody plans behind in memory: who reads a day has it planned."""

    def of(self, *_):
        return None

    def waiting(self):
        return []
