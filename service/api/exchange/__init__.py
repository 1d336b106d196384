"""How requests and answers pass: bodies, JSON, routes, amendments."""
