"""The records that a routing is told in; the contract is derived from their annotations."""
