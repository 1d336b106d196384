"""By whose word and on what ground clippings may be laid."""
