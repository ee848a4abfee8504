"""Tables of records, settled at scale: nothing lost, nothing guessed in silence.

Knows: tables, names as people write them in cells, places in columns, look-ups and joins.
Refuses to know: what a name means; that is asked of the same rules as ``opercle name``.
"""
