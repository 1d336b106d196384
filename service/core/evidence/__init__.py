"""What is kept as evidence: closed days, recalls, and their digests."""
