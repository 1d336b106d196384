"""What only plans may and what only bounds may: each in one place, and one place that chooses."""

from __future__ import annotations

import ast
import inspect
import pkgutil

import service.planning
from service.planning.arrays import inputs as roads
from service.planning.labelling import bound_rules, mode, plan_rules


def sources():
    """Yield every module of the planner, its name and its syntax tree."""
    for found in pkgutil.walk_packages(service.planning.__path__, "service.planning."):
        loader = found.module_finder.find_spec(found.name, None).loader
        yield found.name, ast.parse(loader.get_source(found.name) or "")


def names_in(tree):
    """Return the names that a syntax tree reads, and those it imports."""
    read = {node.id for node in ast.walk(tree) if isinstance(node, ast.Name)}
    imported = {
        word
        for node in ast.walk(tree)
        if isinstance(node, ast.ImportFrom)
        for word in [*(node.module or "").split("."), *(alias.name for alias in node.names)]
    }
    return read | imported


def last(module):
    """Return the last word of a module's name."""
    return module.__name__.rsplit(".", maxsplit=1)[-1]


def test_only_one_module_asks_whether_plans_are_sought_or_bounded():
    asking = {name for name, tree in sources() if "BOUND" in names_in(tree)}
    assert asking == {mode.__name__, roads.__name__}


def test_neither_the_rules_of_plans_nor_those_of_bounds_know_the_other():
    of_plans = names_in(ast.parse(inspect.getsource(plan_rules)))
    of_bounds = names_in(ast.parse(inspect.getsource(bound_rules)))
    assert last(bound_rules) not in of_plans
    assert last(plan_rules) not in of_bounds


def test_nobody_passes_the_choice_by():
    rules = {last(plan_rules), last(bound_rules)}
    users = {name for name, tree in sources() if rules & names_in(tree)}
    assert users == {mode.__name__}
