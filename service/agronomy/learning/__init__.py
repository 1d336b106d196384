"""What weigh tickets teach about estimates."""
