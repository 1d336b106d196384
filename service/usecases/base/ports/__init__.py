"""What the use cases need from outside, one transaction around it: records, words, distances."""
