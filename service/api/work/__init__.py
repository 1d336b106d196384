"""The work of a day: jobs, plans, loads, what is held, and the notes that go with it."""
