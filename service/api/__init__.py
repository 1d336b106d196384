"""HTTP: one module a resource, its schema and its routes; the contract; the problems."""
