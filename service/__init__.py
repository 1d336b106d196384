"""Routes mown grass to client beds, compost sites or a hold, and writes the delivery note.

The packages, from the doors inwards: ``wsgi`` and ``cli``; ``bootstrap``; ``api``, ``storage``,
``gateways``, ``settings`` and ``logs``; ``usecases``; ``destinations``, ``planning`` and
``documents``; ``agronomy`` and ``rules``; ``core``. A package may import those further in, never
one beside it or further out.
"""
