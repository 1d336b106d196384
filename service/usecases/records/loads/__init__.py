"""What is said of loads after they were planned: their ends, tips, locks and corrections."""
