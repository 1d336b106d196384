"""Screens for people: pages of HTML beside the HTTP interface, over the same use cases."""
