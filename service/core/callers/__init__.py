"""Who calls: keys, roles and joined devices."""
