"""What a command says no to."""

from __future__ import annotations


class CommandRefused(Exception):
    """The command cannot be done; its text says why, without secrets.

    Parameters
    ----------
    sentence
        What is wrong, and what to do about it.
    called_wrongly
        Whether another call would help, rather than another state of the world.
    """

    def __init__(self, sentence: str, *, called_wrongly: bool = False) -> None:
        self.called_wrongly = called_wrongly
        super().__init__(sentence)
