"""What is told of material that no place takes: what stays, why, and what the law says then."""
