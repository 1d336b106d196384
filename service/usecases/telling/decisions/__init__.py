"""What of a day waits for somebody's word: found in its plan and in the records of now."""
