"""The repositories: what the use cases ask of kept records, kind by kind."""
