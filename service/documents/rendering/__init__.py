"""From contents to words, numbers and bytes: page, sheet, JSON."""
