"""The questions of one garden, asked of thousands of places: in chunks, on processes or a cluster.

`work` answers a chunk of places, `chunks` keeps answers as whole files, `run` shares the chunks out
and takes up a run that was broken off, `tables` makes tables and arrays of them all.
"""
