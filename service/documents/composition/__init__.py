"""From facts to contents: what a note says, in which order, in no language."""
