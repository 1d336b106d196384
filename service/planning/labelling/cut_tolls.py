"""What tolls add to the cost of a tip, by its kilograms. Compiled."""

from __future__ import annotations

import numpy as np

from service.planning.arrays.compiled import Array, compiled
from service.planning.arrays.inputs import Offer


def _toll_of(toll_kg: Array, toll: Array, row: int, kg: int) -> Array:
    """Return the toll on a tip of so many kilograms."""
    paid = np.int64(0)
    for step in range(toll_kg.shape[1]):
        if toll_kg[row, step] > kg:
            break
        paid = toll[row, step]
    return paid


toll_of = compiled(_toll_of, inline=True)


def _steadily(offer: Offer, row: int, step: int, more: Array) -> None:
    """Fill ``more`` with what each step of load costs more at a candidate, never less than before.

    The sums bound price and tolls from below also between the steps: tolls count as their convex
    hull does, at its slope where a step begins.
    """
    room, pieces = offer.room[row], offer.toll_kg.shape[1]
    corner_kg, corner = np.int64(0), np.int64(0)
    end_kg, end, slope = np.int64(0), np.int64(0), np.int64(0)
    for k in range(more.shape[0]):
        while end_kg <= k * step and end_kg < room:
            corner_kg, corner = end_kg, end
            end_kg = np.int64(-1)
            for piece in range(pieces + 1):  # the end of a piece that is reached most gently
                kg, paid = room, np.int64(0)
                if piece < pieces:
                    kg = min(offer.toll_kg[row, piece] - 1, room)
                if piece > 0:
                    paid = offer.toll[row, piece - 1]
                rise, run = paid - corner, kg - corner_kg
                if run > 0 and (end_kg < 0 or rise * (end_kg - corner_kg) <= (end - corner) * run):
                    end_kg, end = kg, paid
                if kg == room:
                    break
            slope = (end - corner) * step // (end_kg - corner_kg)
        more[k] = offer.price[row] * step + slope


steadily = compiled(_steadily, inline=True)
