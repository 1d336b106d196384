"""Tables, mappings and repositories: the use cases' ports kept in a relational database."""
