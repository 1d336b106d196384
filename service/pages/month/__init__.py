"""The owner's month: what went where, what it cost, how good the estimates were, what presses."""
